package server

import (
	"cmp"
	"encoding/json"
	"maps"
	"net/http"
	"slices"

	"github.com/gin-gonic/gin"

	"benchtally/parts/access"
)

// changesPage is the book of changes.
type changesPage struct{ Changes []changeRow }

type changeRow struct {
	access.Change
	Who, Phone string
	Fields     []changeField
}

// changeField is one thing that was sent with a change.
type changeField struct{ Name, Value string }

// mostChanges is how many lines of the book a page shows.
const mostChanges = 300

func (s *Server) changed(c *gin.Context) error {
	all, err := s.bench.Changes(c.Request.Context(), mostChanges)
	if err != nil {
		return err
	}
	book, err := s.bench.AccessBook(c.Request.Context())
	if err != nil {
		return err
	}
	names := map[int64]string{}
	for _, d := range book.Devices {
		names[d.ID] = d.Name
	}
	var page changesPage
	for _, ch := range all {
		row := changeRow{Change: ch, Who: book.People[ch.Person], Phone: names[ch.Device], Fields: sentFields(ch.Detail)}
		row.What = cmp.Or(changeWords[ch.What], ch.What)
		page.Changes = append(page.Changes, row)
	}
	s.page(c, http.StatusOK, "changes", "What was changed", page)
	return nil
}

// sentFields reads what was sent with a change, without what was left empty.
func sentFields(detail string) []changeField {
	fields := map[string]string{}
	if json.Unmarshal([]byte(detail), &fields) != nil {
		return nil
	}
	var out []changeField
	for _, name := range slices.Sorted(maps.Keys(fields)) {
		if fields[name] != "" {
			out = append(out, changeField{name, fields[name]})
		}
	}
	return out
}

// changeWords say what was changed by what was sent to an address.
var changeWords = map[string]string{
	"POST /badges":               "Somebody was added",
	"POST /people":               "Somebody was added",
	"POST /people/:person":       "Somebody's name, PIN or password was changed",
	"POST /phones/joins":         "A code for one more phone was shown",
	"POST /phones/walls":         "A link for a screen was made",
	"POST /phones/walls/:link":   "A link of a screen was taken back",
	"POST /phones/ended/:device": "A phone was taken out",
	"POST /tokens":               "A token was made",
	"POST /tokens/:token":        "A token was taken back",
	"POST /settings":             "The settings were kept",
	"POST /settings/address":     "The address in the codes was chosen",
	"POST /stations":             "A station was kept",
	"POST /steps/:key":           "Steps were changed",
	"POST /jobs/:code/steps":     "A job's line got other steps",
	"POST /jobs/:code/back":      "A job was taken back",
	"POST /defects":              "A defect of the catalogue was kept",
	"POST /patterns":             "A pattern of holes was kept",
	"POST /carts":                "A cart was added",
	"POST /labels/formats":       "A label format was kept",
	"POST /labels/calibration":   "The printer check was kept",
	"POST /drying/products":      "The data sheet of a product was kept",
	"POST /drying/usual":         "The usual air of the shop was kept",
	"POST /finish/groups":        "A colour group was kept",
	"POST /finish/measures":      "A measure was kept",
	"POST /finish/mixes":         "A mix was kept",
	"POST /api/v1/carts":         "A cart was added",
	"POST /api/v1/step-changes":  "A job's line got other steps",
	"POST /api/v1/mixes":         "A mix was kept",
	"POST /api/v1/approvals":     "A sample was approved",
}
