package server

import (
	"context"
	"net/http"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
)

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
	r.GET("/scan/names", s.tryPhone(s.scanNames))
	r.POST("/scan/place", s.tryPhone(s.scanPlace))
	r.POST("/scan/who", s.tryPhone(s.scanWho))
	r.POST("/scan/photo", s.tryPhone(s.scanPhoto))
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
	page := scanPage{Lang: s.tongue(c).Key, Base: files.base(), Modules: files.modules(), Stations: stations,
		Here: parts.Station(cookie(c, "station"))}
	c.Header("Content-Security-Policy", scanPolicy)
	s.page(c, http.StatusOK, "scan", "Scan", page)
	return nil
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
	// What a phone may want to say while the network is away.
	People  []scanPerson `json:"people"`
	Carts   []scanCart   `json:"carts"`
	Defects []scanDefect `json:"defects"`
}

// scanCart is a cart, or a rack, with how much lies on it.
type scanCart struct {
	Mark  parts.ID `json:"mark"`
	Name  string   `json:"name"`
	Count int      `json:"count"`
}

// scanStation is the place a phone is set to.
type scanStation struct {
	Key     parts.Station `json:"key"`
	Name    string        `json:"name"`
	Place   string        `json:"place"` // its name in the middle of a sentence
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
	return s.showShop(c, placeOf(c), visitor(c).Name)
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
	return s.showShop(c, b.Station, visitor(c).Name)
}

// showShop shows a phone the shop, as far as it is about its station.
func (s *Server) showShop(c *gin.Context, here parts.Station, who string) error {
	ctx := c.Request.Context()
	words := s.words(c)
	out := shopPicture{Now: words.When(words.Now), Who: who, Setups: []scanSetup{}}
	if err := s.listShop(ctx, &out); err != nil {
		return err
	}
	st, err := s.bench.Station(ctx, here)
	if parts.AsProblem(err) != nil {
		return answer(c, http.StatusOK, out) // set to none, or to one that is no more
	}
	if err != nil {
		return err
	}
	out.Station = &scanStation{Key: st.Key, Name: capital(st.Name), Place: st.Name, Caution: st.Caution}
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

// listShop adds the people, the carts and the defects of the shop.
func (s *Server) listShop(ctx context.Context, out *shopPicture) error {
	people, err := s.bench.Badges(ctx)
	if err != nil {
		return err
	}
	carts, err := s.bench.Carts(ctx)
	if err != nil {
		return err
	}
	defects, err := s.bench.Defects(ctx)
	if err != nil {
		return err
	}
	out.People, out.Carts, out.Defects = []scanPerson{}, []scanCart{}, []scanDefect{}
	for _, p := range people {
		out.People = append(out.People, scanPerson{Person: p.Person, Name: p.Name})
	}
	for _, cart := range carts {
		out.Carts = append(out.Carts, scanCart{Mark: cart.Part, Name: cart.Name, Count: cart.Count})
	}
	for _, d := range defects {
		out.Defects = append(out.Defects, scanDefect{Key: d.Key, Name: d.Name, Again: d.Again, Remake: d.Remake, Repair: repairText(d)})
	}
	return nil
}
