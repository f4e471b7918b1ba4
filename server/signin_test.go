package server_test

import (
	"bufio"
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/access"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
	"benchtally/server"
)

const ownersPassword = "three oak pegs"

// guarded is a shop that is no demo, with a job in it.
func guarded(t *testing.T) (*shop, bench.JobPieces) {
	s := &shop{clock: shoptest.NewClock()}
	s.bench = shoptest.Open(t, s.clock)
	h, err := server.New(server.Config{Bench: s.bench, Log: slog.New(slog.NewTextHandler(t.Output(), nil))})
	require.NoError(t, err)
	web := httptest.NewServer(h)
	t.Cleanup(func() { h.Close(); web.CloseClientConnections(); web.Close() })
	s.url = web.URL
	return s, shoptest.ListJob(t, s.bench, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
}

// device is a browser without a picture: it keeps cookies.
type device struct {
	*testing.T
	at string
	*http.Client
}

func (s *shop) device(t *testing.T) *device {
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	return &device{t, s.url, &http.Client{Jar: jar}}
}

func (d *device) get(path string) (int, string) { return d.read(d.Get(d.at + path)) }

func (d *device) post(path string, form ...string) (int, string) {
	values := url.Values{}
	for i := 0; i+1 < len(form); i += 2 {
		values.Add(form[i], form[i+1])
	}
	return d.read(d.PostForm(d.at+path, values))
}

func (d *device) read(res *http.Response, err error) (int, string) {
	d.Helper()
	require.NoError(d, err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(d, err)
	return res.StatusCode, string(body)
}

// in checks that a page comes, and not the way in.
func (d *device) in(path string) string {
	d.Helper()
	status, body := d.get(path)
	require.Equal(d, http.StatusOK, status, path)
	require.NotContains(d, body, "page-sign_in")
	return body
}

// owner sets the shop up by its link.
func (s *shop) owner(t *testing.T) *device {
	d := s.device(t)
	status, body := d.post("/setup/"+codeOf(t, s.bench.NewSetup), "name", "Ann", "password", ownersPassword, "phone", "Office")
	require.Equal(t, http.StatusOK, status, body)
	return d
}

// joined lets one more phone in by the code that another one shows.
func (s *shop) joined(t *testing.T, by *device, name string) *device {
	_, body := by.post("/phones/joins")
	code := regexp.MustCompile(`/join/([0-9A-Z]{8})`).FindStringSubmatch(body)
	require.NotNil(t, code, body)
	d := s.device(t)
	status, _ := d.post("/join/"+code[1], "phone", name)
	require.Equal(t, http.StatusOK, status)
	return d
}

// A shop from its first start to a phone that works.
func TestAShopIsSetUpOnce(t *testing.T) {
	s, job := guarded(t)
	stranger := s.device(t)
	status, body := stranger.get("/")
	assert.Equal(t, http.StatusUnauthorized, status)
	assert.Contains(t, body, "This shop has no owner yet")
	assert.NotContains(t, body, "Tern Point lockers")

	code := codeOf(t, s.bench.NewSetup)
	status, body = stranger.post("/setup/"+code, "name", "Ann", "password", "too short", "phone", "Office")
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, body, "fewer than 12 characters")
	assert.Contains(t, body, `value="Ann"`, "what was typed is kept")
	status, _ = stranger.post("/setup/"+code, "name", "Ann", "password", ownersPassword, "phone", "Office")
	assert.Equal(t, http.StatusOK, status, "a mistake does not use the link up")
	assert.Contains(t, stranger.in("/"), "Tern Point lockers")
	assert.Contains(t, stranger.in("/settings"), "Time zone", "with an owner's rights")

	status, _ = s.device(t).post("/setup/"+code, "name", "Eve", "password", "another twelve", "phone", "x")
	assert.Equal(t, http.StatusNotFound, status, "the link is good once")

	phone := s.joined(t, stranger, "Phone by the drill")
	mark := named(t, s, job.Job.Code, "Rail", parts.Ticket)
	assert.Contains(t, phone.in("/P/"+mark), "5 × Rail")
	assert.Contains(t, stranger.in("/phones"), "Phone by the drill")
}

// The phone that shows a code is told what became of it.
func TestACodeSaysWhoJoined(t *testing.T) {
	s, _ := guarded(t)
	owner := s.owner(t)
	code := codeOf(t, s.bench.NewJoin)
	path := "/phones/joins/" + code[:4] + "-" + code[4:]
	_, page := owner.post("/phones/joins")
	assert.Regexp(t, `data-joins="/phones/joins/[0-9A-Z]{4}-[0-9A-Z]{4}"`, page)
	status, body := owner.get(path)
	assert.Equal(t, http.StatusNoContent, status)
	assert.Empty(t, body, "it waits")
	status, _ = s.device(t).get(path)
	assert.Equal(t, http.StatusUnauthorized, status, "a stranger learns nothing")
	status, _ = s.device(t).post("/join/"+code, "phone", "Phone by the drill")
	require.Equal(t, http.StatusOK, status)
	status, body = owner.get(path)
	assert.Equal(t, http.StatusOK, status)
	assert.Equal(t, "Phone by the drill has joined", body)
	_, body = owner.get(path + "?lang=de")
	assert.Equal(t, "Phone by the drill ist dabei", body)

	late := codeOf(t, s.bench.NewJoin)
	s.clock.Pass(access.JoinFor + time.Minute)
	_, body = owner.get("/phones/joins/" + late + "?lang=en")
	assert.Equal(t, "No phone joined in time", body)
}

func TestACodeLetsOnePhoneInSoon(t *testing.T) {
	s, _ := guarded(t)
	s.owner(t)
	code := codeOf(t, s.bench.NewJoin)
	d := s.device(t)
	status, body := d.get("/join?code=" + url.QueryEscape(strings.ToLower(code[:4])+" - "+strings.ReplaceAll(code[4:], "0", "o")))
	assert.Equal(t, http.StatusOK, status, "typed as people type")
	assert.Contains(t, body, "This phone joins the shop")
	_, _ = d.get("/join/" + code)
	status, _ = d.post("/join/"+code, "phone", "One")
	assert.Equal(t, http.StatusOK, status, "looking does not use it up")
	status, _ = s.device(t).post("/join/"+code, "phone", "Two")
	assert.Equal(t, http.StatusNotFound, status)

	late := codeOf(t, s.bench.NewJoin)
	s.clock.Pass(access.JoinFor)
	status, body = s.device(t).post("/join/"+late, "phone", "Late")
	assert.Equal(t, http.StatusNotFound, status)
	assert.Contains(t, body, "No phone joins with this code")
	assert.Contains(t, body, `name="code"`, "to type it again")
}

func TestTheCookieOfASession(t *testing.T) {
	s, _ := guarded(t)
	s.owner(t)
	d := s.device(t)
	d.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	sign := func() *http.Cookie {
		res, err := d.PostForm(d.at+"/sign-in", url.Values{"password": {ownersPassword}, "phone": {"Office"}})
		require.NoError(t, err)
		defer res.Body.Close()
		require.Equal(t, http.StatusSeeOther, res.StatusCode)
		require.Len(t, res.Cookies(), 1)
		return res.Cookies()[0]
	}
	first, second := sign(), sign()
	assert.True(t, first.HttpOnly)
	assert.Equal(t, http.SameSiteLaxMode, first.SameSite, "a camera opens labels from another site, as it were")
	assert.Equal(t, "/", first.Path)
	assert.GreaterOrEqual(t, len(first.Value), 32, "192 random bits in base64")
	assert.NotEqual(t, first.Value, second.Value, "each sign-in makes another session")
	book, err := s.bench.AccessBook(t.Context())
	require.NoError(t, err)
	for _, v := range book.Devices {
		assert.NotContains(t, string(v.Secret), first.Value, "only the hash is kept")
	}

	secured, err := server.New(server.Config{Bench: s.bench, Log: slog.New(slog.NewTextHandler(t.Output(), nil)),
		Where: func() server.Where {
			return server.Where{OnlySecure: true, SecurePort: 443, Covers: func(string) bool { return true }}
		}})
	require.NoError(t, err)
	defer secured.Close()
	tls := httptest.NewTLSServer(secured)
	defer tls.Close()
	phone := tls.Client()
	phone.CheckRedirect = d.CheckRedirect
	res, err := phone.PostForm(tls.URL+"/sign-in", url.Values{"password": {ownersPassword}, "phone": {"Office"}})
	require.NoError(t, err)
	res.Body.Close()
	require.Len(t, res.Cookies(), 2)
	assert.Equal(t, first.Name, res.Cookies()[1].Name)
	assert.True(t, res.Cookies()[1].Secure, "where nothing but HTTPS is wanted, the cookie goes no other way")

	old := s.device(t)
	at, err := url.Parse(s.url)
	require.NoError(t, err)
	old.Jar.SetCookies(at, []*http.Cookie{{Name: first.Name, Value: first.Value, Path: "/"}})
	old.in("/")
	old.post("/sign-out")
	old.Jar.SetCookies(at, []*http.Cookie{{Name: first.Name, Value: first.Value, Path: "/"}})
	status, _ := old.get("/")
	assert.Equal(t, http.StatusUnauthorized, status, "the session is over for the server too, not only for the browser")
}

func TestSigningInLeadsNowhereElse(t *testing.T) {
	s, _ := guarded(t)
	s.owner(t)
	for next, want := range map[string]string{"/jobs": "/jobs", "": "/", "https://elsewhere.example/": "/", "//elsewhere.example": "/", "/\\elsewhere.example": "/", "javascript:alert(1)": "/"} {
		d := s.device(t)
		d.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
		res, err := d.PostForm(d.at+"/sign-in", url.Values{"password": {ownersPassword}, "phone": {"Office"}, "next": {next}})
		require.NoError(t, err)
		res.Body.Close()
		assert.Equal(t, want, res.Header.Get("Location"), next)
		s.clock.Pass(time.Minute)
	}
}

func TestAPasswordIsNotTriedForLong(t *testing.T) {
	s, _ := guarded(t)
	s.owner(t)
	d := s.device(t)
	for range 10 {
		status, body := d.post("/sign-in", "password", "twelve or more", "phone", "x")
		require.Equal(t, http.StatusUnauthorized, status)
		require.Contains(t, body, "no owner&#39;s password")
	}
	res, err := d.PostForm(d.at+"/sign-in", url.Values{"password": {ownersPassword}, "phone": {"x"}})
	require.NoError(t, err)
	res.Body.Close()
	assert.Equal(t, http.StatusTooManyRequests, res.StatusCode, "not even the right one")
	assert.Equal(t, "30", res.Header.Get("Retry-After"))
	s.clock.Pass(30 * time.Second)
	status, _ := d.post("/sign-in", "password", ownersPassword, "phone", "x")
	assert.Equal(t, http.StatusOK, status)
}

// A maker changes the settings with the owner's password, and what was typed
// is not lost.
func TestAnOwnersPasswordOnAMakersPhone(t *testing.T) {
	s, _ := guarded(t)
	owner := s.owner(t)
	phone := s.joined(t, owner, "Phone")
	status, body := phone.get("/settings")
	assert.Equal(t, http.StatusForbidden, status)
	assert.Contains(t, body, "page-owner")

	form := []string{"key", "lathe", "name", "at the <lathe>", "caution", "Eyes.", "after", ""}
	status, body = phone.post("/stations", form...)
	assert.Equal(t, http.StatusForbidden, status)
	assert.Contains(t, body, `value="at the &lt;lathe&gt;"`)
	status, body = phone.post("/stations", append(form, "owner-password", "wrong password")...)
	assert.Equal(t, http.StatusUnauthorized, status)
	assert.Contains(t, body, `value="at the &lt;lathe&gt;"`)
	status, _ = phone.post("/stations", append(form, "owner-password", ownersPassword)...)
	assert.Equal(t, http.StatusOK, status)
	assert.Contains(t, phone.in("/stations"), "At the &lt;lathe&gt;")
	assert.Contains(t, phone.in("/settings"), "Time zone", "the rights stay for a while")
	_, changes := phone.get("/changes")
	assert.Contains(t, changes, "A station was saved")
	assert.Contains(t, changes, "at the &lt;lathe&gt;")
	assert.NotContains(t, changes, ownersPassword, "no secret is written down")

	require.NoError(t, s.bench.SetOwner(t.Context(), "Ann", "four ash dowels"))
	status, _ = phone.get("/settings")
	assert.Equal(t, http.StatusForbidden, status, "what the old password lent is over")
	status, _ = phone.post("/owner", "password", ownersPassword)
	assert.Equal(t, http.StatusUnauthorized, status)
	status, _ = phone.post("/owner", "password", "four ash dowels", "next", "/settings")
	assert.Equal(t, http.StatusOK, status)
	s.clock.Pass(access.OwnerFor)
	status, _ = phone.get("/settings")
	assert.Equal(t, http.StatusForbidden, status, "they end by themselves")
	phone.in("/")
}

func TestAPhoneIsTakenOut(t *testing.T) {
	s, _ := guarded(t)
	owner := s.owner(t)
	phone := s.joined(t, owner, "Lost phone")
	res, err := phone.Get(s.url + "/floor/stream")
	require.NoError(t, err)
	defer res.Body.Close()
	lines := bufio.NewReader(res.Body)
	_, err = lines.ReadString('\n')
	require.NoError(t, err)

	id := regexp.MustCompile(`(?s)Lost phone.*?/phones/ended/(\d+)`).FindStringSubmatch(owner.in("/phones"))
	require.NotNil(t, id)
	status, _ := phone.post("/phones/ended/" + id[1])
	assert.Equal(t, http.StatusForbidden, status, "a maker takes nobody out")
	owner.post("/phones/ended/" + id[1])
	for _, path := range []string{"/", "/scan/shop", "/floor/stream", "/nowhere"} {
		status, _ := phone.get(path)
		assert.Equal(t, http.StatusUnauthorized, status, path)
	}
	// What it still watched ends with the next change.
	require.NoError(t, s.bench.AddPerson(t.Context(), "Rosa"))
	done := make(chan struct{})
	go func() { io.Copy(io.Discard, lines); close(done) }()
	select {
	case <-done:
	case <-time.After(20 * time.Second):
		t.Fatal("a phone that was taken out goes on watching the floor")
	}
	assert.NotContains(t, owner.in("/phones"), "Lost phone")
}

func TestAPhoneThatNobodyUsed(t *testing.T) {
	s, _ := guarded(t)
	phone := s.joined(t, s.owner(t), "Drawer")
	s.clock.Pass(access.IdleFor - time.Second)
	phone.in("/")
	s.clock.Pass(access.IdleFor - time.Second)
	phone.in("/")
	s.clock.Pass(access.IdleFor)
	status, _ := phone.get("/")
	assert.Equal(t, http.StatusUnauthorized, status)
}

func TestASignOnWithAPIN(t *testing.T) {
	s, _ := guarded(t)
	owner := s.owner(t)
	phone := s.joined(t, owner, "Phone")
	phone.post("/who", "who", "Rosa")
	phone.post("/who", "who", "Emil")
	people, err := s.bench.Members(t.Context())
	require.NoError(t, err)
	ids := map[string]string{}
	for _, p := range people {
		ids[p.Name] = regexp.MustCompile(`\d+`).FindString(strings.Split(owner.in("/people"), p.Name)[1][strings.Index(strings.Split(owner.in("/people"), p.Name)[1], "/people/"):])
	}
	status, body := owner.post("/people/"+ids["Rosa"], "do", "pin", "pin", "1234")
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, body, "the first that anybody tries")
	status, _ = owner.post("/people/"+ids["Rosa"], "do", "pin", "pin", "2580")
	require.Equal(t, http.StatusOK, status)

	status, body = phone.post("/who", "person", ids["Rosa"])
	assert.Equal(t, http.StatusForbidden, status)
	assert.Contains(t, body, "PIN of Rosa")
	status, _ = phone.post("/who", "who", "Rosa", "pin", "0000")
	assert.Equal(t, http.StatusForbidden, status)
	assert.Contains(t, phone.in("/who"), `aria-current="true"><b>Emil`)
	status, _ = phone.get("/W/" + ids["Rosa"])
	assert.Equal(t, http.StatusForbidden, status, "a badge that anybody could write")
	status, _ = phone.post("/who", "person", ids["Rosa"], "pin", "2580")
	assert.Equal(t, http.StatusOK, status)
	assert.Contains(t, phone.in("/who"), `aria-current="true"><b>Rosa`)

	// A phone speaks for whoever has signed on to it, and not for others.
	v := access.Visitor{Device: 99, Name: "Emil"}
	assert.Equal(t, "Emil", s.bench.Speaks(t.Context(), v, "Rosa"))
	assert.Equal(t, "Ann", s.bench.Speaks(t.Context(), v, "Ann"), "who has no PIN is named freely")
	assert.Empty(t, s.bench.Speaks(t.Context(), v, ""))

	status, body = owner.post("/people/"+ids["Rosa"], "do", "erase")
	require.Equal(t, http.StatusOK, status)
	assert.NotContains(t, body, "Rosa")
	assert.NotContains(t, body, "Person "+ids["Rosa"], "there is nobody to tap")
	_, changes := owner.get("/changes")
	assert.NotContains(t, changes, "Rosa", "nor is the name left in the book of changes")
	status, body = owner.post("/people/"+ids["Ann"], "do", "erase")
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, body, "the only owner")
}

func TestAScreenOnlyShows(t *testing.T) {
	s, job := guarded(t)
	owner := s.owner(t)
	_, body := owner.post("/phones/walls", "name", "Wall by the booth")
	link := regexp.MustCompile(`/screen/[\w-]+`).FindString(body)
	calendar := regexp.MustCompile(`/drying\.ics\?link=[\w-]+`).FindString(body)
	require.NotEmpty(t, link)
	screen := s.device(t)
	_, body = screen.get(link)
	assert.Contains(t, body, "on-wall")
	status, _ := s.device(t).get(link)
	assert.Equal(t, http.StatusOK, status, "a television that forgot its cookies opens it again")
	mark := named(t, s, job.Job.Code, "Rail", parts.Ticket)
	for _, path := range []string{"/P/" + mark, "/jobs", "/scan", "/settings", "/phones"} {
		status, body := screen.get(path)
		assert.Equal(t, http.StatusForbidden, status, path)
		assert.Contains(t, body, "This screen only shows")
	}
	status, _ = screen.post("/P/"+mark+"/scan", "id", shoptest.NewID().String())
	assert.Equal(t, http.StatusForbidden, status)
	status, body = s.device(t).get(calendar)
	assert.Equal(t, http.StatusOK, status)
	assert.Contains(t, body, "BEGIN:VCALENDAR")

	key := regexp.MustCompile(`/phones/walls/([0-9a-f]{64})`).FindStringSubmatch(owner.in("/phones"))
	require.NotNil(t, key)
	owner.post("/phones/walls/" + key[1])
	for _, path := range []string{"/wall", link, calendar} {
		status, _ = screen.get(path)
		assert.Contains(t, []int{http.StatusUnauthorized, http.StatusNotFound}, status, path)
	}
}

// Whoever finds a label sees whose it is, and nothing of the part or the shop.
func TestAFoundLabel(t *testing.T) {
	s, job := guarded(t)
	s.owner(t)
	require.NoError(t, s.bench.SaveSettings(t.Context(), parts.Settings{Shop: "Tern Point", Zone: "UTC", Unit: "mm", Denominator: 16, Address: "http://192.168.1.20:8080", Paper: "a4", Sheet: "letter-3x10"}))
	for _, mark := range []string{named(t, s, job.Job.Code, "Rail 1", parts.Single), "2/" + named(t, s, job.Job.Code, "Rail 1", parts.Single), "ZZZZ"} {
		status, body := s.device(t).get("/P/" + mark)
		assert.Equal(t, http.StatusOK, status)
		assert.Contains(t, body, "Tern Point")
		assert.Contains(t, body, "please bring it back")
		assert.NotContains(t, body, "Rail")
		assert.NotContains(t, body, "lockers")
		assert.NotContains(t, body, `href="/jobs"`)
	}
}

func TestTokensOnThePage(t *testing.T) {
	s, _ := guarded(t)
	owner := s.owner(t)
	status, body := owner.post("/tokens", "name", "Thermometer")
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, body, "may do nothing")
	_, body = owner.post("/tokens", "name", "Thermometer", "scope", "gauge")
	token := regexp.MustCompile(`<p class="secret">([\w-]{32})</p>`).FindStringSubmatch(body)
	require.NotNil(t, token)
	assert.NotContains(t, owner.in("/tokens"), token[1], "it is shown once")
	call := func() int {
		r, err := http.NewRequestWithContext(context.Background(), "GET", s.url+"/api/v1/air", nil)
		require.NoError(t, err)
		r.Header.Set("Authorization", "bearer "+token[1])
		res, err := http.DefaultClient.Do(r)
		require.NoError(t, err)
		res.Body.Close()
		return res.StatusCode
	}
	assert.Equal(t, http.StatusForbidden, call(), "a sensor does not look")
	key := regexp.MustCompile(`/tokens/([0-9a-f]{64})`).FindStringSubmatch(owner.in("/tokens"))
	owner.post("/tokens/" + key[1])
	assert.Equal(t, http.StatusUnauthorized, call())
}

// The same on a real phone: it scans the code of another one, joins, and says
// who uses it.
func TestAPhoneJoinsInTheBrowser(t *testing.T) {
	s, _ := guarded(t)
	s.owner(t)
	p := openPhone(t, s.url, 390)
	look := func(name string) {
		p.fits()
		p.picture(name)
		p.noBarrier(name)
	}
	p.open("/P/" + named(t, s, "TERN-POINT-LOCKERS", "Rail", parts.Ticket))
	look("found")
	p.open("/setup/" + codeOf(t, s.bench.NewSetup))
	look("setup")
	p.open("/")
	look("sign-in")
	p.open("/join/" + codeOf(t, s.bench.NewJoin))
	look("join")
	p.write("input[name=phone]", "Phone by the drill")
	p.tap("button.main")
	assert.Equal(t, "Who uses this phone", p.text("h1"))
	p.write("input[name=who]", "Rosa")
	p.tap("form.inline button")
	assert.Contains(t, p.text(".kept"), "This phone is used by Rosa")
	p.open("/phones")
	look("phones")
	assert.Contains(t, p.text("main"), "used by Rosa")
	p.tap("button.main")
	look("phones-code")
	p.open("/settings")
	look("owner")
	p.write("input[name=password]", ownersPassword)
	p.tap("button.main")
	assert.Equal(t, "Settings", p.text("h1"))
	p.open("/people")
	look("people")
	p.open("/tokens")
	look("tokens")
	p.open("/changes")
	look("changes")
}
