package server

import (
	"fmt"

	"benchtally/parts/access"
)

// door says who may open an address.
type door struct {
	role  access.Role  // that a device must have; Nobody is open to all
	scope access.Scope // that a program's token must have, for an address of the API
	found bool         // whoever finds a label sees whose it is
	noted bool         // what is sent goes into the book of changes
}

var (
	open    = door{}
	finder  = door{role: access.Maker, found: true}
	look    = door{role: access.Viewer}
	work    = door{role: access.Maker}
	arrange = door{role: access.Maker, noted: true}
	own     = door{role: access.Owner}
	enters  = door{noted: true}
	leaves  = door{role: access.Viewer, noted: true}
	rule    = door{role: access.Owner, noted: true}

	reads   = door{scope: access.Read}
	records = door{scope: access.Scan}
	offices = door{scope: access.Office}
	changes = door{scope: access.Office, noted: true}
	gauges  = door{scope: access.Gauge}
)

// doors has every address of the server. One that is missing here keeps the
// server from starting, and so does one that is not there.
var doors = map[string]door{
	// Open to everybody: how one gets in, and what a browser needs for it.
	"GET /sign-in":                   open,
	"POST /sign-in":                  enters,
	"GET /setup/:code":               open,
	"POST /setup/:code":              enters,
	"GET /join":                      open,
	"GET /join/:code":                open,
	"POST /join/:code":               enters,
	"GET /screen/:code":              open,
	"GET /trust":                     open,
	"GET /trust/ca.crt":              open,
	"GET /static/*file":              open,
	"GET /scan/files/:version/*file": open,
	"GET /sw.js":                     open,
	"GET /manifest.webmanifest":      open,
	"GET /api/v1/openapi.json":       open,

	// For those who keep the server running.
	"GET /healthz": open,

	// A label says whose it is to whoever finds it.
	"GET /P/:mark":         finder,
	"GET /P/:mark/:second": finder,
	"GET /p/:mark":         finder,

	// What a screen on the wall shows.
	"GET /":                 look,
	"GET /floor/stream":     look,
	"GET /wall":             look,
	"GET /wall/stream":      look,
	"GET /drying":           look,
	"GET /drying/stream":    look,
	"GET /drying/plot.json": look,
	"GET /drying.ics":       look, // with the link of a screen too, for calendars
	"POST /sign-out":        leaves,

	// Work.
	"GET /find":                       work,
	"GET /P/:mark/label":              work,
	"GET /P/:mark/label.svg":          work,
	"GET /P/:mark/signed":             work,
	"GET /P/:mark/traveler.pdf":       work,
	"POST /P/:mark/apart":             work,
	"POST /P/:mark/check":             work,
	"POST /P/:mark/clear":             work,
	"POST /P/:mark/doubt":             work,
	"POST /P/:mark/hold":              work,
	"POST /P/:mark/load":              work,
	"POST /P/:mark/clamps-off":        work,
	"POST /P/:mark/lost":              work,
	"POST /P/:mark/mend":              work,
	"POST /P/:mark/plug":              work,
	"POST /P/:mark/release":           work,
	"POST /P/:mark/remake":            work,
	"POST /P/:mark/return":            work,
	"POST /P/:mark/scan":              work,
	"POST /P/:mark/scrap":             work,
	"POST /P/:mark/signed":            work,
	"POST /P/:mark/skip":              work,
	"POST /P/:mark/take":              work,
	"POST /P/:mark/undo":              work,
	"GET /S/:station":                 work,
	"GET /W/:person":                  work,
	"GET /who":                        work,
	"POST /who":                       work,
	"GET /stations":                   work,
	"POST /stations/leave":            work,
	"GET /badges":                     work,
	"POST /badges":                    arrange,
	"GET /badges.pdf":                 own, // a badge signs on instead of a PIN
	"GET /racks.pdf":                  work,
	"GET /placards.pdf":               work,
	"GET /carts":                      work,
	"POST /carts":                     arrange,
	"GET /carts.pdf":                  work,
	"GET /jobs":                       work,
	"GET /jobs/:code":                 work,
	"GET /jobs/:code/travelers.pdf":   work,
	"POST /jobs/:code/back":           arrange,
	"POST /jobs/:code/deliver":        work,
	"POST /jobs/:code/steps":          arrange,
	"GET /list":                       work,
	"POST /list":                      work,
	"POST /list/preview":              work,
	"GET /labels":                     work,
	"POST /labels":                    work,
	"GET /labels/:order":              work,
	"GET /labels/:order/sheet.pdf":    work,
	"POST /labels/:order/spoiled":     work,
	"GET /labels/calibration":         work,
	"POST /labels/calibration":        arrange,
	"GET /labels/calibration.pdf":     work,
	"GET /labels/formats":             work,
	"POST /labels/formats":            arrange,
	"GET /late":                       work,
	"POST /late/:command":             work,
	"POST /drying/readings":           work,
	"POST /drying/usual":              arrange,
	"GET /drying/products":            work,
	"GET /finish":                     work,
	"GET /wood":                       work,
	"POST /finish/cans":               work,
	"POST /finish/groups":             arrange,
	"POST /finish/measures":           arrange,
	"GET /finish/mixes":               work,
	"POST /finish/mixes":              arrange,
	"GET /finish/mixes/:key":          work,
	"POST /finish/mixes/:key/batches": work,
	"POST /finish/mixes/:key/samples": work,
	"POST /finish/samples/:number":    work,
	"GET /finish/batches/:number":     work,
	"POST /finish/batches/:number":    work,
	"GET /patterns":                   work,
	"POST /patterns":                  arrange,
	"GET /defects":                    work,
	"GET /photos/:name":               work,
	"GET /steps":                      work,
	"GET /scan":                       work,
	"GET /scan/look":                  work,
	"GET /scan/shop":                  work,
	"GET /scan/names":                 work,
	"POST /scan/place":                work,
	"POST /scan/who":                  work,
	"POST /scan/photo":                work,
	"POST /scan/do":                   work,
	"GET /phones":                     work,
	"POST /phones/joins":              arrange,
	"GET /phones/joins/:code":         work,
	"POST /owner":                     arrange,
	"POST /owner/back":                arrange,

	// What an owner sets up.
	"GET /settings":              own,
	"POST /settings":             rule,
	"GET /settings/address":      own,
	"POST /settings/address":     rule,
	"POST /stations":             rule,
	"GET /steps/:key":            own,
	"POST /steps/:key":           rule,
	"POST /defects":              rule,
	"POST /drying/products":      rule,
	"POST /phones/walls":         rule,
	"POST /phones/walls/:link":   rule,
	"POST /phones/ended/:device": rule,
	"GET /people":                own,
	"POST /people":               rule,
	"POST /people/:person":       rule,
	"GET /tokens":                own,
	"POST /tokens":               rule,
	"POST /tokens/:token":        rule,
	"GET /changes":               own,

	// Programs.
	"GET /metrics":                              reads,
	"GET /api/v1/jobs":                          reads,
	"GET /api/v1/jobs/:code/parts":              reads,
	"GET /api/v1/jobs/:code/tickets":            reads,
	"GET /api/v1/parts/:mark":                   reads,
	"GET /api/v1/parts/:mark/events":            reads,
	"GET /api/v1/floor":                         reads,
	"GET /api/v1/stations":                      reads,
	"GET /api/v1/setups":                        reads,
	"GET /api/v1/air":                           reads,
	"GET /api/v1/drying":                        reads,
	"GET /api/v1/formats":                       reads,
	"GET /api/v1/defects":                       reads,
	"GET /api/v1/photos/:name":                  reads,
	"GET /api/v1/carts":                         reads,
	"GET /api/v1/late":                          reads,
	"GET /api/v1/mixes":                         reads,
	"GET /api/v1/mixes/:key/dosing":             reads,
	"GET /api/v1/mixes/:key/samples":            reads,
	"GET /api/v1/batches":                       reads,
	"GET /api/v1/print-orders/:order/sheet.pdf": reads,
	"POST /api/v1/scans":                        records,
	"POST /api/v1/checks":                       records,
	"POST /api/v1/skips":                        records,
	"POST /api/v1/clamps-off":                   records,
	"POST /api/v1/loads":                        records,
	"POST /api/v1/plugs":                        records,
	"POST /api/v1/mends":                        records,
	"POST /api/v1/returns":                      records,
	"POST /api/v1/doubts":                       records,
	"POST /api/v1/clearances":                   records,
	"POST /api/v1/relabels":                     records,
	"POST /api/v1/holds":                        records,
	"POST /api/v1/releases":                     records,
	"POST /api/v1/take-aparts":                  records,
	"POST /api/v1/remakes":                      records,
	"POST /api/v1/scraps":                       records,
	"POST /api/v1/losses":                       records,
	"POST /api/v1/deliveries":                   records,
	"POST /api/v1/undos":                        records,
	"POST /api/v1/late/:command":                records,
	"POST /api/v1/photos":                       records,
	"POST /api/v1/readings":                     gauges,
	"POST /api/v1/lists":                        offices,
	"POST /api/v1/print-orders":                 offices,
	"POST /api/v1/print-orders/:order/spoils":   offices,
	"POST /api/v1/batches":                      offices,
	"POST /api/v1/samples":                      offices,
	"POST /api/v1/carts":                        changes,
	"POST /api/v1/step-changes":                 changes,
	"POST /api/v1/mixes":                        changes,
	"POST /api/v1/approvals":                    changes,
}

// checkDoors compares the doors with the addresses that the router has.
func checkDoors(addresses []string) error {
	there := map[string]bool{}
	for _, a := range addresses {
		there[a] = true
		if _, known := doors[a]; !known {
			return fmt.Errorf("nobody says who may open %s: give it a row in server/doors.go", a)
		}
	}
	for a := range doors {
		if !there[a] {
			return fmt.Errorf("server/doors.go has %s, which is no address of the server", a)
		}
	}
	return nil
}
