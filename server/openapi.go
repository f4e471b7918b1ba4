package server

import (
	_ "embed"
	"net/http"

	"github.com/gin-gonic/gin"
)

// description is the OpenAPI 3.1 document of every address under /api/v1.
//
//go:embed openapi.json
var description []byte

// openAPI serves the description as it is; no token is needed to read it.
func openAPI(c *gin.Context) { c.Data(http.StatusOK, "application/json", description) }
