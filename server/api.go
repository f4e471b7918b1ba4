package server

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/jsontext"
)

// api has every address for programs. The document that describes them is
// open; everything else wants a token.
func (s *Server) api(r *gin.RouterGroup) {
	r.GET("/openapi.json", openAPI)
	s.apiLooks(r)
	s.apiFinish(r)
	s.apiDeeds(r)

	r.POST("/lists", s.try(s.apiList))
	r.POST("/print-orders", s.try(s.apiPrint))
	r.GET("/print-orders/:order/sheet.pdf", s.try(s.orderPDF))
	r.POST("/print-orders/:order/spoils", s.try(s.apiSpoil))
	r.POST("/carts", s.try(s.apiAddCart))
	r.POST("/readings", s.try(s.apiReadings))
	r.POST("/photos", s.try(s.apiAddPhoto))
}

// apiLooks has the addresses that only tell.
func (s *Server) apiLooks(r *gin.RouterGroup) {
	r.GET("/jobs", s.try(s.apiJobs))
	r.GET("/jobs/:code/parts", s.try(s.apiParts))
	r.GET("/jobs/:code/tickets", s.try(s.apiTickets))
	r.GET("/parts/:mark", s.try(s.apiPart))
	r.GET("/parts/:mark/events", s.try(s.apiEvents))
	r.GET("/floor", s.try(s.apiFloor))
	r.GET("/stations", s.try(s.apiStations))
	r.GET("/setups", s.try(s.apiSetups))
	r.GET("/air", s.try(s.apiAir))
	r.GET("/drying", s.try(s.apiDrying))
	r.GET("/formats", s.try(s.apiFormats))
	r.GET("/defects", s.try(s.apiDefects))
	r.GET("/photos/:name", s.try(s.photo))
	r.GET("/carts", s.try(s.apiCarts))
	r.GET("/late", s.try(s.apiLate))
}

// apiFinish has mixes, batches and samples.
func (s *Server) apiFinish(r *gin.RouterGroup) {
	r.GET("/mixes", s.try(s.apiMixes))
	r.POST("/mixes", s.try(s.apiSaveMix))
	r.GET("/mixes/:key/dosing", s.try(s.apiDosing))
	r.GET("/mixes/:key/samples", s.try(s.apiSamples))
	r.GET("/batches", s.try(s.apiBatches))
	r.POST("/batches", s.try(s.apiMixIt))
	r.POST("/samples", s.try(s.apiAddSamples))
	r.POST("/approvals", s.try(s.apiApprove))
}

// apiDeeds has the addresses that record what was done.
func (s *Server) apiDeeds(r *gin.RouterGroup) {
	r.POST("/scans", s.try(s.apiScan))
	r.POST("/checks", s.try(s.apiCheck))
	r.POST("/skips", s.try(s.apiSkip))
	r.POST("/clamps-off", s.try(s.apiClampsOff))
	r.POST("/loads", s.try(s.apiLoad))

	r.POST("/plugs", s.try(s.apiPlug))
	r.POST("/mends", s.try(s.apiMend))
	r.POST("/returns", s.try(s.apiReturn))
	r.POST("/doubts", s.try(s.apiDoubt))
	r.POST("/clearances", s.try(s.apiClear))
	r.POST("/relabels", s.try(s.apiRelabel))
	r.POST("/holds", s.try(s.apiHold))
	r.POST("/releases", s.try(s.apiRelease))
	r.POST("/take-aparts", s.try(s.apiTakeApart))

	r.POST("/remakes", s.try(s.apiRemake))
	r.POST("/scraps", s.try(s.apiScrap))
	r.POST("/losses", s.try(s.apiLose))

	r.POST("/deliveries", s.try(s.apiDeliver))
	r.POST("/step-changes", s.try(s.apiChangeSteps))
	r.POST("/undos", s.try(s.apiUndo))
	r.POST("/late/:command", s.try(s.apiSettleLate))
}

// problem is an RFC 9457 document. Code is what a program should look at.
type problem struct {
	Type   string         `json:"type"`
	Title  string         `json:"title"`
	Status int            `json:"status"`
	Detail string         `json:"detail"`
	Code   string         `json:"code"`
	Next   string         `json:"next"`
	Facts  map[string]any `json:"facts"`
}

// problemJSON answers with what went wrong, for a program. The type is
// about:blank, which RFC 9457 gives the meaning "as the status says": the
// code tells more than an address that nobody opens.
func (s *Server) problemJSON(c *gin.Context, p *parts.Problem, status int) {
	words := s.words(c.Request.Context())
	out := problem{Type: "about:blank", Title: http.StatusText(status), Status: status,
		Detail: words.Say(p), Code: p.Code, Next: words.Do(p), Facts: p.Facts}
	if out.Facts == nil {
		out.Facts = map[string]any{}
	}
	if status == http.StatusUnauthorized {
		c.Header("WWW-Authenticate", "Bearer")
	}
	if err := sendJSON(c, status, "application/problem+json", out); err != nil {
		s.log.Error("write a problem", "code", p.Code, "err", err)
		c.Status(status)
	}
}

// answer sends v as JSON.
func answer(c *gin.Context, status int, v any) error {
	return sendJSON(c, status, "application/json", v)
}

// sendJSON writes v in memory first, so that half an answer is never sent.
func sendJSON(c *gin.Context, status int, contentType string, v any) error {
	c.Header("Content-Disposition", `attachment; filename="answer.json"`) // no browser shows it as anything else
	var err error
	if own, ok := v.(jsontext.Appender); ok {
		err = jsontext.Use(own, "", func(text []byte) { c.Data(status, contentType, append(text, '\n')) })
	} else {
		var out bytes.Buffer
		e := json.NewEncoder(&out)
		e.SetEscapeHTML(false)
		if err = e.Encode(v); err == nil {
			c.Data(status, contentType, out.Bytes())
		}
	}
	if err != nil {
		return fmt.Errorf("write an answer: %w", err)
	}
	return nil
}
