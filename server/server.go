// Package server puts the bench on the network: pages for people, JSON for
// programs, and a live stream for the pages that stay open. It owns addresses,
// forms and status codes. It decides nothing about wood: a handler reads the
// request, calls one verb of the bench and shows one page.
package server

import (
	"cmp"
	"fmt"
	"log/slog"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"
	"golang.org/x/time/rate"

	"benchtally/parts/bench"
	"benchtally/static"
)

// Config is what a server is made of.
type Config struct {
	Bench *bench.Bench
	Log   *slog.Logger
	// Demo opens everything to whoever reaches it, and says so on each page.
	Demo bool
	// Where tells how the server is reached; nil when nobody knows.
	Where func() Where
	// Pace is how many requests a second one phone or program may send, with
	// twice as many at once; 0 for the usual 300.
	Pace int
}

// usualPace is far above what a person or a sensor sends, and far below what
// would keep others waiting.
const usualPace = 300

// mostUpload bounds the body of any request; a cut list of 5,000 lines has
// less than a tenth of it.
const mostUpload = 8 << 20

// Server answers requests. Close ends its live streams.
type Server struct {
	bench    *bench.Bench
	log      *slog.Logger
	demo     bool
	where    func() Where
	tongues  []tongue
	live     *live
	pace     *patience // of one phone or program
	patience *patience // with secrets that are tried
	limits   limits    // of time
	metrics  *metrics
	http     http.Handler
}

// New makes a server. A template that cannot be read is an error.
func New(c Config) (*Server, error) {
	s := &Server{bench: c.Bench, log: c.Log, demo: c.Demo, where: c.Where, limits: usualLimits}
	if s.where == nil {
		s.where = func() Where { return Where{} }
	}
	var err error
	if s.tongues, err = newTongues(); err != nil {
		return nil, err
	}
	pace := cmp.Or(c.Pace, usualPace)
	s.pace, s.patience = newPatience(rate.Limit(pace), 2*pace), newPatience(rate.Every(30*time.Second), 10)
	s.live = newLive(s)
	s.metrics = newMetrics(s)
	gin.SetMode(gin.ReleaseMode)
	r := s.router()
	var addresses []string
	for _, route := range r.Routes() {
		addresses = append(addresses, route.Method+" "+route.Path)
	}
	s.http = r
	return s, checkDoors(addresses)
}

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.http.ServeHTTP(w, r) }

// Close ends the live streams, so that a server can stop.
func (s *Server) Close() { s.live.close() }

// router has every address of the product.
func (s *Server) router() *gin.Engine {
	r := gin.New()
	r.HandleMethodNotAllowed = true
	r.SetTrustedProxies(nil) // limits go by the address that really asks
	r.Use(s.followed, s.recovered, s.bounded, s.guarded, s.strict, s.speak, s.secured, s.sameOrigin(), s.formed, s.admit)
	r.NoRoute(s.try(func(*gin.Context) error { return noSuchPage() }))
	r.NoMethod(s.try(func(*gin.Context) error { return noSuchMethod() }))

	r.GET("/", s.try(s.floor))
	r.GET("/floor/stream", s.floorStream)
	r.GET("/wall", s.try(s.wall))
	r.GET("/wall/stream", s.wallStream)
	r.GET("/find", s.try(s.find))

	s.gettingIn(r)
	s.devices(r)
	s.staff(r)
	s.pieces(r)
	r.GET("/S/:station", s.try(s.setStation))
	r.GET("/stations", s.try(s.stations))
	r.POST("/stations", s.try(s.saveStation))
	r.POST("/stations/leave", s.try(s.leaveStation))

	r.GET("/jobs", s.try(s.jobs))
	r.GET("/jobs/:code", s.try(s.job))
	r.POST("/jobs/:code/steps", s.try(s.changeSteps))
	r.POST("/jobs/:code/back", s.try(s.takeBackJob))
	r.POST("/jobs/:code/deliver", s.try(s.deliver))
	r.GET("/list", s.try(s.newList))
	r.POST("/list/preview", s.try(s.previewList))
	r.POST("/list", s.try(s.makeJob))

	s.shopData(r)
	s.finishing(r)
	r.GET("/late", s.try(s.late))
	r.POST("/late/:command", s.try(s.settleLate))
	r.GET("/settings", s.try(s.settings))
	r.POST("/settings", s.try(s.saveSettings))
	r.GET("/settings/address", s.try(s.address))
	r.POST("/settings/address", s.try(s.saveAddress))
	r.GET("/trust", s.try(s.trust))
	r.GET("/trust/ca.crt", s.try(s.authority))

	s.scanning(r)
	s.onPaper(r)
	s.running(r)
	r.GET("/static/*file", gin.WrapH(http.StripPrefix("/static/", cached(http.FileServerFS(static.Files)))))
	s.api(r.Group("/api/v1"))
	return r
}

// pieces has the addresses of parts, tickets, assemblies and carts.
func (s *Server) pieces(r *gin.Engine) {
	r.GET("/P/:mark", s.try(s.part))
	r.GET("/P/:mark/:second", s.try(s.partCopy))
	r.GET("/P/:mark/label", s.try(s.label))
	r.GET("/P/:mark/label.svg", s.try(s.labelPreview))
	r.POST("/P/:mark/scan", s.try(s.scanPart))
	r.POST("/P/:mark/plug", s.try(s.verb(s.bench.Plug)))
	r.POST("/P/:mark/remake", s.try(s.verb(s.bench.Remake)))
	r.POST("/P/:mark/hold", s.try(s.verb(s.bench.Hold)))
	r.POST("/P/:mark/release", s.try(s.verb(s.bench.Release)))
	r.POST("/P/:mark/apart", s.try(s.verb(s.bench.TakeApart)))
	r.POST("/P/:mark/mend", s.try(s.verb(s.bench.Mend)))
	r.POST("/P/:mark/return", s.try(s.verb(s.bench.Return)))
	r.POST("/P/:mark/scrap", s.try(s.verb(s.bench.Scrap)))
	r.POST("/P/:mark/lost", s.try(s.verb(s.bench.Lost)))
	r.POST("/P/:mark/doubt", s.try(s.verb(s.bench.Doubt)))
	r.POST("/P/:mark/clear", s.try(s.verb(s.bench.Clear)))
	r.POST("/P/:mark/check", s.try(s.verb(s.bench.CheckFirst)))
	r.POST("/P/:mark/skip", s.try(s.verb(s.bench.Skip)))
	r.POST("/P/:mark/clamps-off", s.try(s.verb(s.bench.ClampsOff)))
	r.POST("/P/:mark/load", s.try(s.verb(s.bench.Load)))
	r.POST("/P/:mark/take", s.try(s.takeOnCart))
	r.POST("/P/:mark/undo", s.try(s.undo))
	r.GET("/p/:mark", s.try(s.lowerCase))
}

// shopData has what is printed, and what the shop says of itself.
func (s *Server) shopData(r *gin.Engine) {
	r.GET("/labels", s.try(s.labelQueue))
	r.POST("/labels", s.try(s.printLabels))
	r.GET("/labels/formats", s.try(s.formats))
	r.POST("/labels/formats", s.try(s.saveFormat))
	r.GET("/labels/calibration", s.try(s.calibration))
	r.POST("/labels/calibration", s.try(s.saveCalibration))
	r.GET("/labels/calibration.pdf", s.try(s.calibrationPDF))
	r.GET("/labels/:order", s.try(s.order))
	r.GET("/labels/:order/sheet.pdf", s.try(s.orderPDF))
	r.POST("/labels/:order/spoiled", s.try(s.spoiled))
	r.GET("/placards.pdf", s.try(s.placards))

	r.GET("/steps", s.try(s.steps))
	r.GET("/steps/:key", s.try(s.editSteps))
	r.POST("/steps/:key", s.try(s.saveSteps))

	s.wet(r)

	r.GET("/patterns", s.try(s.patterns))
	r.POST("/patterns", s.try(s.savePattern))

	r.GET("/defects", s.try(s.defects))
	r.POST("/defects", s.try(s.saveDefect))
	r.GET("/photos/:name", s.try(s.photo))

	r.GET("/carts", s.try(s.carts))
	r.POST("/carts", s.try(s.addCart))
	r.GET("/carts.pdf", s.try(s.cartTags))
}

// finishing has mixes, batches and samples, and what is to be coated.
func (s *Server) finishing(r *gin.Engine) {
	r.GET("/finish", s.try(s.finish))
	r.GET("/wood", s.try(s.wood))
	r.POST("/finish/cans", s.saveFinish(s.saveCan))
	r.POST("/finish/groups", s.saveFinish(s.saveGroup))
	r.POST("/finish/measures", s.saveFinish(s.saveMeasure))
	r.GET("/finish/mixes", s.try(s.mixes))
	r.POST("/finish/mixes", s.try(s.saveMix))
	r.GET("/finish/mixes/:key", s.try(s.mix))
	r.POST("/finish/mixes/:key/batches", s.try(s.mixIt))
	r.POST("/finish/mixes/:key/samples", s.try(s.addSamples))
	r.POST("/finish/samples/:number", s.try(s.approve))
	r.GET("/finish/batches/:number", s.try(s.batch))
	r.POST("/finish/batches/:number", s.try(s.changeBatch))
}

// wet has what dries, and the air it dries in.
func (s *Server) wet(r *gin.Engine) {
	r.GET("/drying", s.try(s.drying))
	r.GET("/drying/stream", s.dryingStream)
	r.GET("/drying/plot.json", s.try(s.dryingPlot))
	r.GET("/drying.ics", s.try(s.dryingCalendar))
	r.POST("/drying/readings", s.try(s.addReading))
	r.POST("/drying/usual", s.try(s.saveUsualAir))
	r.GET("/drying/products", s.try(s.products))
	r.POST("/drying/products", s.try(s.saveProduct))
}

// sameOrigin keeps pages of other sites from sending forms to this one in the
// name of whoever looks at them.
func (s *Server) sameOrigin() gin.HandlerFunc {
	protection := http.NewCrossOriginProtection()
	return func(c *gin.Context) {
		if err := protection.Check(c.Request); err != nil {
			s.fail(c, fromElsewhere())
			c.Abort()
		}
	}
}

// cached lets browsers keep static files: their addresses change with them.
func cached(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Cache-Control", fmt.Sprintf("public, max-age=%d", int((365*24*time.Hour).Seconds())))
		next.ServeHTTP(w, r)
	})
}
