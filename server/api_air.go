package server

import (
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/air"
)

// airJSON is what can be said of the shop's air. A dew point is left out when
// the air is as good as dry.
type airJSON struct {
	Saturation float64  `json:"saturation_pressure_pa"`
	Deficit    float64  `json:"deficit_pa"`
	DewPoint   *float64 `json:"dew_point_c,omitempty"`
	Moisture   float64  `json:"equilibrium_moisture_pct"`
}

// apiAir works out what the air of a temperature and a humidity does to wood
// and finish.
func (s *Server) apiAir(c *gin.Context) error {
	var a air.Air
	for name, to := range map[string]*float64{"celsius": &a.Celsius, "humidity": &a.Humidity} {
		text := c.Query(name)
		if text == "" {
			return fieldMissing(name, "Send both in the address: /api/v1/air?celsius=20&humidity=50.")
		}
		var err error
		if *to, err = strconv.ParseFloat(text, 64); err != nil {
			return parts.Problemf(parts.Invalid, "field-wrong", "The field %q is not a number.", name).Next("Send it in digits, such as 20 or 19.5.").Fact("field", name)
		}
	}
	if err := a.Check(); err != nil {
		return err
	}
	out := airJSON{Saturation: a.Saturation(), Deficit: a.Deficit(), Moisture: a.Moisture()}
	if dew, ok := a.DewPoint(); ok {
		out.DewPoint = &dew
	}
	return answer(c, http.StatusOK, out)
}
