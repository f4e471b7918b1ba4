package server

import (
	"cmp"
	"encoding/json"
	"maps"
	"net/http"
	"slices"
	"strconv"

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
		fields := sentFields(ch.Detail)
		row := changeRow{Change: ch, Who: book.People[ch.Person], Phone: names[ch.Device]}
		row.What = cmp.Or(memberWords[fields["do"]], changeWords[ch.What], ch.What)
		for _, name := range slices.Sorted(maps.Keys(fields)) {
			id, _ := strconv.ParseInt(fields[name], 10, 64)
			switch {
			case name == "do" || name == "link" || name == "token":
				continue
			case name == "person":
				fields[name] = book.People[id]
			case name == "device":
				fields[name] = names[id]
			}
			row.Fields = append(row.Fields, changeField{cmp.Or(fieldWords[name], name), fields[name]})
		}
		page.Changes = append(page.Changes, row)
	}
	s.page(c, http.StatusOK, "changes", "What was changed", page)
	return nil
}

// sentFields reads what was sent with a change, without what was left empty.
func sentFields(detail string) map[string]string {
	fields := map[string]string{}
	if json.Unmarshal([]byte(detail), &fields) != nil {
		return nil
	}
	maps.DeleteFunc(fields, func(_, value string) bool { return value == "" })
	return fields
}

// fieldWords say what was sent where the field's own name does not.
var fieldWords = map[string]string{
	"person": "who", "device": "phone", "key": "short name", "denominator": "smallest fraction", "code": "job",
	"caution": "what can hurt", "after": "comes after", "scope": "may",
}

// memberWords say what was changed of a person.
var memberWords = map[string]string{
	"pin": "A PIN was set", "no-pin": "A PIN was taken away", "rename": "Somebody was renamed", "owner": "An owner's password was set",
	"no-owner": "An owner became an ordinary person", "erase": "A name was erased",
}

// changeWords say what was changed by what was sent to an address.
var changeWords = map[string]string{
	"benchtally token":           "A token was made, at the server's computer",
	"benchtally owner":           "An owner's password was set, at the server's computer",
	"POST /sign-in":              "Signed in with the owner's password",
	"POST /setup/:code":          "The shop got its owner",
	"POST /join/:code":           "A phone joined",
	"POST /sign-out":             "A phone was taken out by whoever used it",
	"POST /owner":                "A phone got the owner's rights",
	"POST /owner/back":           "The owner's rights were given back",
	"POST /badges":               "Somebody was added",
	"POST /people":               "Somebody was added",
	"POST /people/:person":       "Somebody's name, PIN or password was changed",
	"POST /phones/joins":         "A code for one more phone was shown",
	"POST /phones/walls":         "A link for a screen was made",
	"POST /phones/walls/:link":   "A link of a screen was taken back",
	"POST /phones/ended/:device": "A phone was taken out",
	"POST /tokens":               "A token was made",
	"POST /tokens/:token":        "A token was taken back",
	"POST /settings":             "The settings were saved",
	"POST /settings/address":     "The address in the codes was chosen",
	"POST /stations":             "A station was saved",
	"POST /steps/:key":           "Steps were changed",
	"POST /jobs/:code/steps":     "A job's line got other steps",
	"POST /jobs/:code/back":      "A job was taken back",
	"POST /defects":              "A defect of the catalogue was saved",
	"POST /patterns":             "A pattern of holes was saved",
	"POST /carts":                "A cart was added",
	"POST /labels/formats":       "A label format was saved",
	"POST /labels/calibration":   "The printer check was saved",
	"POST /drying/products":      "The data sheet of a product was saved",
	"POST /drying/usual":         "The usual air of the shop was saved",
	"POST /finish/groups":        "A colour group was saved",
	"POST /finish/measures":      "A measure was saved",
	"POST /finish/mixes":         "A mix was saved",
	"POST /api/v1/carts":         "A cart was added",
	"POST /api/v1/step-changes":  "A job's line got other steps",
	"POST /api/v1/mixes":         "A mix was saved",
	"POST /api/v1/approvals":     "A sample was approved",
}
