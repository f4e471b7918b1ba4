package server

import (
	"cmp"
	"net/http"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
)

// scanPolicy is the content policy of the scanning page: its reader of codes
// is compiled code, which no other page may run.
const scanPolicy = "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; img-src 'self' data: blob:; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// scanPage is the page for the people on the floor. Everything that changes
// comes by the addresses below it, so that a phone may keep the page itself.
type scanPage struct {
	Lang     string
	Base     string   // the address of its files
	Modules  []string // its scripts, to be fetched at once
	Stations []parts.StationRow
	Here     parts.Station
}

// scanning adds the scanning page and what it talks to.
func (s *Server) scanning(r *gin.Engine) {
	files, err := newScanFiles()
	if err != nil {
		s.log.Error("read the files of the scanning page", "err", err)
	}
	r.GET("/scan", s.try(func(c *gin.Context) error { return s.scanPage(c, files) }))
	r.GET("/scan/look", s.tryPhone(s.scanLook))
	r.GET("/scan/shop", s.tryPhone(s.scanShop))
	r.POST("/scan/place", s.tryPhone(s.scanPlace))
	r.POST("/scan/do", s.tryPhone(s.scanDo))
	r.GET("/scan/files/:version/*file", files.serve)
	r.GET("/sw.js", files.worker)
	r.GET("/manifest.webmanifest", files.manifest)
}

func (s *Server) scanPage(c *gin.Context, files *scanFiles) error {
	stations, err := s.bench.Stations(c.Request.Context())
	if err != nil {
		return err
	}
	page := scanPage{Lang: scanLanguage(c), Base: files.base(), Modules: files.modules(), Stations: stations,
		Here: parts.Station(cookie(c, "station"))}
	c.Header("Content-Security-Policy", scanPolicy)
	s.page(c, http.StatusOK, "scan", "Scan", page)
	return nil
}

// scanLanguage is the language of the page's own words: the one asked for,
// which is then remembered, or the one of last time.
func scanLanguage(c *gin.Context) string {
	asked := c.Query("lang")
	if asked == "en" || asked == "de" {
		remember(c, "scan-lang", asked)
		return asked
	}
	if cookie(c, "scan-lang") == "de" {
		return "de"
	}
	return "en"
}

// tryPhone runs a handler of the scanning page, which reads problems as JSON.
func (s *Server) tryPhone(handle func(*gin.Context) error) gin.HandlerFunc {
	return func(c *gin.Context) {
		c.Header("Cache-Control", "no-store")
		err := handle(c)
		if err == nil {
			return
		}
		p, status := s.problemOf(c, err)
		words := s.words(c)
		refused := scanAnswer{Outcome: "refused", Code: p.Code, Say: words.Say(p), Do: words.Do(p), Overrule: overruling(p), Now: s.bench.Now()}
		if err := answer(c, status, refused); err != nil {
			s.log.Error("write a refusal", "code", p.Code, "err", err)
			c.Status(status)
		}
	}
}

// shopPicture is what a phone that is set to a station shows until something
// is scanned, and keeps for when the network is away.
type shopPicture struct {
	Now     string       `json:"now"` // as people say it
	Station *scanStation `json:"station"`
	Who     string       `json:"who"`
	Setups  []scanSetup  `json:"setups"`
}

// scanStation is the place a phone is set to.
type scanStation struct {
	Key     parts.Station `json:"key"`
	Name    string        `json:"name"`
	Caution string        `json:"caution"`
}

// scanSetup is one way a machine is set, with what wants it.
type scanSetup struct {
	Step   string      `json:"step"`
	Size   string      `json:"size,omitempty"`
	Ready  int         `json:"ready"`
	Later  int         `json:"later"`
	Check  string      `json:"check,omitempty"`
	Here   []scanGroup `json:"here"`
	Coming []scanGroup `json:"coming"`
}

// scanGroup is some pieces of one line.
type scanGroup struct {
	Count int      `json:"count"`
	Name  string   `json:"name,omitempty"`
	Mark  parts.ID `json:"mark,omitempty"`
	Where string   `json:"where,omitempty"`
}

func (s *Server) scanShop(c *gin.Context) error {
	return s.showShop(c, parts.Station(cmp.Or(c.Query("station"), cookie(c, "station"))))
}

// scanPlace sets the phone to a station, like its placard does; "" takes it
// away from all of them.
func (s *Server) scanPlace(c *gin.Context) error {
	var b struct {
		Station parts.Station `json:"station"`
	}
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	if b.Station != "" {
		if _, err := s.bench.Station(c.Request.Context(), b.Station); err != nil {
			return err
		}
	}
	remember(c, "station", string(b.Station))
	return s.showShop(c, b.Station)
}

func (s *Server) showShop(c *gin.Context, here parts.Station) error {
	ctx := c.Request.Context()
	words := s.words(c)
	out := shopPicture{Now: words.When(words.Now), Who: cookie(c, "who"), Setups: []scanSetup{}}
	st, err := s.bench.Station(ctx, here)
	if parts.AsProblem(err) != nil {
		return answer(c, http.StatusOK, out) // set to none, or to one that is no more
	}
	if err != nil {
		return err
	}
	out.Station = &scanStation{Key: st.Key, Name: capital(st.Name), Caution: st.Caution}
	setups, err := s.bench.Setups(ctx, st.Key)
	if err != nil {
		return err
	}
	for _, u := range setups {
		row := scanSetup{Step: capital(u.Step), Size: u.Size, Ready: u.Ready, Later: u.Later, Check: u.Check, Here: []scanGroup{}, Coming: []scanGroup{}}
		for _, g := range u.Here {
			row.Here = append(row.Here, scanGroup{Count: g.Count, Name: g.Line.Name, Mark: g.Mark})
		}
		for _, g := range u.Coming {
			row.Coming = append(row.Coming, scanGroup{Count: g.Count, Name: g.Line.Name, Mark: g.Mark, Where: g.Where})
		}
		out.Setups = append(out.Setups, row)
	}
	return answer(c, http.StatusOK, out)
}
