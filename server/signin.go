package server

import (
	"net/http"
	"net/url"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/access"
	"benchtally/parts/bench"
)

// gettingIn has the addresses by which people and devices get in and out.
func (s *Server) gettingIn(r *gin.Engine) {
	r.GET("/sign-in", s.try(s.signIn))
	r.POST("/sign-in", s.try(s.signInOwner))
	r.POST("/sign-out", s.try(s.signOut))
	r.GET("/setup/:code", s.try(s.setUp))
	r.POST("/setup/:code", s.try(s.setUpOwner))
	r.GET("/join", s.try(s.typedJoin))
	r.GET("/join/:code", s.try(s.join))
	r.POST("/join/:code", s.try(s.joinPhone))
	r.GET("/screen/:code", s.try(s.openScreen))
	r.POST("/owner", s.try(s.becomeOwner))
	r.POST("/owner/back", s.try(s.giveBack))
	r.GET("/who", s.try(s.who))
	r.POST("/who", s.try(s.setWho))
}

// letIn gives the device that asked its session.
func (s *Server) letIn(c *gin.Context, secret, to string) {
	s.setSession(c, secret, int(longMemory.Seconds()))
	c.Redirect(http.StatusSeeOther, to)
}

// setSession writes the cookie. It is sent along when a phone's camera opens a
// label (SameSite=Lax), and over plain HTTP too while the shop has that.
func (s *Server) setSession(c *gin.Context, secret string, age int) {
	http.SetCookie(c.Writer, &http.Cookie{
		Name: sessionCookie, Value: secret, Path: "/", MaxAge: age, HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.where().OnlySecure,
	})
}

// signInPage is the way in: by the code of another phone, or by an owner's
// password.
type signInPage struct {
	Next    string
	Phone   string // what this device may be called
	Setup   bool   // nobody owns the shop yet
	Out     bool   // this device was in
	Problem *parts.Problem
}

func (s *Server) signIn(c *gin.Context) error {
	s.showSignIn(c, http.StatusOK, nil)
	return nil
}

func (s *Server) showSignIn(c *gin.Context, status int, p *parts.Problem) {
	was, _ := c.Cookie(sessionCookie)
	page := signInPage{Next: c.Query("next"), Phone: phoneName(c), Problem: p, Out: was != "" && visitor(c).Role == access.Nobody}
	switch {
	case c.Request.Method == http.MethodPost:
		page.Next = c.PostForm("next")
	case strings.HasPrefix(c.FullPath(), "/join"):
	case page.Next == "" && c.FullPath() != "/sign-in":
		page.Next = c.Request.URL.RequestURI()
	}
	var err error
	if page.Setup, err = s.bench.NeedsOwner(c.Request.Context()); err != nil {
		s.fail(c, err)
		return
	}
	s.page(c, status, "sign_in", "Sign in", page)
}

func (s *Server) signInOwner(c *gin.Context) error {
	var secret string
	err := s.tries(c, "password", func() (err error) {
		secret, err = s.bench.SignIn(c.Request.Context(), c.PostForm("password"), c.PostForm("phone"))
		return err
	})
	if err == nil {
		s.letIn(c, secret, here(c.PostForm("next"), "/"))
		s.log.Info("signed in with an owner's password", "from", c.RemoteIP())
		return nil
	}
	s.log.Warn("a password was refused", "from", c.RemoteIP(), "code", parts.CodeOf(err))
	return s.again(c, err, func(status int, p *parts.Problem) { s.showSignIn(c, status, p) })
}

// again shows a form again with what is wrong.
func (s *Server) again(c *gin.Context, err error, show func(int, *parts.Problem)) error {
	p := parts.AsProblem(err)
	if p == nil {
		return err
	}
	if p.Sort == parts.TooMany {
		c.Header("Retry-After", "30")
	}
	show(statuses[p.Sort], p)
	return nil
}

// here gives a path of this server, or the usual one when it is anything else.
func here(path, usual string) string {
	u, err := url.Parse(path)
	if err != nil || u.Scheme != "" || u.Host != "" || u.User != nil || !strings.HasPrefix(path, "/") || strings.HasPrefix(path, "//") || strings.ContainsAny(path, "\\\x00\r\n") {
		return usual
	}
	return path
}

// signOut takes the device that asks out of the shop.
func (s *Server) signOut(c *gin.Context) error {
	if v := visitor(c); v.Device != 0 {
		if err := s.bench.EndDevice(c.Request.Context(), v.Device); err != nil {
			return err
		}
	}
	s.setSession(c, "", -1)
	c.Redirect(http.StatusSeeOther, "/sign-in")
	return nil
}

// phoneName guesses what a device may be called.
func phoneName(c *gin.Context) string {
	agent := c.GetHeader("User-Agent")
	if strings.Contains(agent, "Mobi") || strings.Contains(agent, "Android") {
		return "Phone"
	}
	return "Computer"
}

// setUpPage is the form by which a new shop gets its owner.
type setUpPage struct {
	Shop, Name, Phone string
	Problem           *parts.Problem
}

func (s *Server) setUp(c *gin.Context) error {
	if _, err := s.invited(c, access.Setup); err != nil {
		return err
	}
	s.page(c, http.StatusOK, "setup", "Your shop", setUpPage{Phone: phoneName(c)})
	return nil
}

// invited looks at the code of the address, which is not tried too often.
func (s *Server) invited(c *gin.Context, kind access.Invitation) (access.Invite, error) {
	var i access.Invite
	return i, s.tries(c, "code", func() (err error) {
		i, err = s.bench.Invited(c.Request.Context(), c.Param("code"), kind)
		return err
	})
}

func (s *Server) setUpOwner(c *gin.Context) error {
	if _, err := s.invited(c, access.Setup); err != nil {
		return err
	}
	shop, name, phone := strings.TrimSpace(c.PostForm("shop")), c.PostForm("name"), c.PostForm("phone")
	secret, err := s.setUpShop(c, shop, name, phone)
	if err != nil {
		return s.again(c, err, func(status int, p *parts.Problem) {
			s.page(c, status, "setup", "Your shop", setUpPage{Shop: shop, Name: name, Phone: phone, Problem: p})
		})
	}
	s.letIn(c, secret, "/")
	return nil
}

// setUpShop gives the shop its owner, and its name when one was written. The
// name is looked at first: the link is good once.
func (s *Server) setUpShop(c *gin.Context, shop, name, phone string) (string, error) {
	set, err := s.bench.Settings(c.Request.Context())
	if err != nil {
		return "", err
	}
	if shop != "" {
		set.Shop = shop
		if err := set.Check(); err != nil && parts.CodeOf(err) == "shop-name" {
			return "", err
		}
	}
	secret, err := s.bench.SetUp(c.Request.Context(), c.Param("code"), name, c.PostForm("password"), phone)
	if err != nil || shop == "" {
		return secret, err
	}
	if err := s.bench.SaveSettings(c.Request.Context(), set); err != nil {
		s.log.Error("keep the shop's name", "err", err) // it can be written again under Settings
	}
	return secret, nil
}

// joinPage is what a phone sees that scanned the code of another one.
type joinPage struct {
	Shop, Phone string
	Problem     *parts.Problem
}

// typedJoin goes on to the code that a person typed.
func (s *Server) typedJoin(c *gin.Context) error {
	code := strings.TrimSpace(c.Query("code"))
	if code == "" {
		return s.signIn(c)
	}
	c.Redirect(http.StatusSeeOther, "/join/"+url.PathEscape(code))
	return nil
}

func (s *Server) join(c *gin.Context) error {
	if _, err := s.invited(c, access.Join); err != nil {
		return s.again(c, err, func(status int, p *parts.Problem) { s.showSignIn(c, status, p) })
	}
	s.page(c, http.StatusOK, "join", "Join the shop", joinPage{Shop: s.words(c).Shop, Phone: phoneName(c)})
	return nil
}

func (s *Server) joinPhone(c *gin.Context) error {
	if _, err := s.invited(c, access.Join); err != nil {
		return s.again(c, err, func(status int, p *parts.Problem) { s.showSignIn(c, status, p) })
	}
	secret, err := s.bench.Join(c.Request.Context(), c.Param("code"), c.PostForm("phone"))
	if err != nil {
		return s.again(c, err, func(status int, p *parts.Problem) {
			s.page(c, status, "join", "Join the shop", joinPage{Shop: s.words(c).Shop, Phone: c.PostForm("phone"), Problem: p})
		})
	}
	s.letIn(c, secret, "/who")
	return nil
}

// openScreen lets a screen in by its link, which it may open again: a
// television forgets what it knew.
func (s *Server) openScreen(c *gin.Context) error {
	if !visitor(c).Role.May(access.Viewer) {
		if _, err := s.invited(c, access.Wall); err != nil {
			return err
		}
		secret, err := s.bench.OpenWall(c.Request.Context(), c.Param("code"))
		if err != nil {
			return err
		}
		s.setSession(c, secret, int(longMemory.Seconds()))
	}
	c.Redirect(http.StatusSeeOther, "/wall")
	return nil
}

func (s *Server) becomeOwner(c *gin.Context) error {
	if v := visitor(c); v.Device != 0 {
		if err := s.lend(c, v, c.PostForm("password")); err != nil {
			return s.again(c, err, func(status int, p *parts.Problem) {
				s.page(c, status, "owner", "Owner's password", ownerPage{Problem: p, Action: "/owner", Fields: url.Values{"next": {c.PostForm("next")}}})
			})
		}
	}
	c.Redirect(http.StatusSeeOther, here(c.PostForm("next"), "/settings"))
	return nil
}

func (s *Server) giveBack(c *gin.Context) error {
	if err := s.bench.GiveBack(c.Request.Context(), visitor(c)); err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/")
	return nil
}

// whoPage is where a person says that they use this phone.
type whoPage struct {
	People  []bench.Member
	Ask     int64 // whose PIN is asked for; 0 for nobody's
	Now     bool  // it was said just now
	Problem *parts.Problem
}

func (s *Server) who(c *gin.Context) error { return s.showWho(c, http.StatusOK, nil) }

func (s *Server) showWho(c *gin.Context, status int, p *parts.Problem) error {
	people, err := s.bench.Members(c.Request.Context())
	if err != nil {
		return err
	}
	page := whoPage{People: people, Problem: p, Now: c.Query("now") != ""}
	if p != nil {
		page.Ask, _ = p.Facts["person"].(int64)
		if p.Code == "pin-asked" {
			page.Problem = nil // the form says it
		}
	}
	s.page(c, status, "who", "Who uses this phone", page)
	return nil
}

// signOn says who uses the device that asks.
func (s *Server) signOn(c *gin.Context, on bench.SignOn) (string, error) {
	v := visitor(c)
	var name string
	err := s.tries(c, "pin", func() (err error) {
		name, err = s.bench.SignOn(c.Request.Context(), v, on)
		return err
	})
	if err != nil {
		return "", err
	}
	v.Name = name
	c.Set("visitor", v)
	if s.demo {
		remember(c, "who", name)
	}
	return name, nil
}

// found tells whoever found a label whose it is, and nothing of the part.
func (s *Server) found(c *gin.Context) {
	s.page(c, http.StatusOK, "found", "A label of a shop", signInPage{Next: c.Request.URL.RequestURI()})
}
