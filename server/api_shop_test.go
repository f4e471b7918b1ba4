package server

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// picture gives the bytes of a small picture.
func picture(t *testing.T, write func(io.Writer, image.Image) error) []byte {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, 8, 6))
	img.Set(3, 3, color.RGBA{R: 200, A: 255})
	var out bytes.Buffer
	require.NoError(t, write(&out, img))
	return out.Bytes()
}

func asJPEG(w io.Writer, m image.Image) error { return jpeg.Encode(w, m, nil) }

func TestPicturesForPrograms(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	for kind, data := range map[string][]byte{"image/jpeg": picture(t, asJPEG), "image/png": picture(t, png.Encode)} {
		kept := p.send("POST", "/api/v1/photos", string(data)).is(201, "")
		require.Equal(t, string(kept.body), string(p.send("POST", "/api/v1/photos", string(data)).is(201, "").body), "the same picture is kept once")
		got := p.get(kept.header.Get("Location")).is(200, "")
		require.Equal(t, "image/jpeg", got.header.Get("Content-Type"), "made anew of a %s", kind)
		shown, err := jpeg.Decode(bytes.NewReader(got.body))
		require.NoError(t, err)
		require.Equal(t, image.Rect(0, 0, 8, 6), shown.Bounds())
	}
	p.send("POST", "/api/v1/photos", "").is(400, "photo-kind")
	p.send("POST", "/api/v1/photos", "<svg xmlns='http://www.w3.org/2000/svg'/>").is(400, "photo-kind")
	large := append(picture(t, asJPEG), make([]byte, bench.MostPhoto)...)
	p.send("POST", "/api/v1/photos", string(large)).is(413, "photo-large")

	name := p.send("POST", "/api/v1/photos", string(picture(t, png.Encode))).field("name")
	p.post("/api/v1/mends", body("mark", mark("Shelf"), "defect", "tear-out", "photo", name)).is(200, "")
	require.Contains(t, string(p.get("/api/v1/parts/"+mark("Shelf")+"/events").body), `"photo":"`+name.(string)+`"`)
	p.token = ""
	p.get("/api/v1/photos/"+name.(string)).is(401, "token-missing")
	p.send("POST", "/api/v1/photos", string(picture(t, png.Encode))).is(401, "token-missing")
}

// A dry fit takes the parts that are named, refuses those that have no place
// in it, and takes any finished ones for the rest.
func TestPartsOfADryFitAreNamed(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	p.scan(mark("ticket Stile"), "bore")
	p.scan(mark("ticket Rail"), "bore")
	front := mark("Locker front 1")
	refused := p.post("/api/v1/scans", body("mark", front, "station", "glue", "parts", []string{mark("Shelf")})).is(422, "does-not-fit")
	require.NotEmpty(t, refused.field("facts").(map[string]any)["would_fit"])
	p.post("/api/v1/scans", body("mark", front, "station", "glue", "parts", []string{"Z"})).is(400, "mark-unreadable")
	p.post("/api/v1/scans", body("mark", front, "station", "glue", "parts", "Z")).is(400, "field-wrong")
	p.scan(front, "glue", "parts", []string{mark("Stile 4"), mark("Rail 4")})
	var piece pieceJSON
	p.get("/api/v1/parts/" + front).into(&piece)
	require.Subset(t, piece.Parts, []parts.ID{parts.ID(mark("Stile 4")), parts.ID(mark("Rail 4"))})
	require.Len(t, piece.Parts, 4)
}

// A ticket's answer says how many stayed behind, and which check nobody made.
func TestTicketsAskBack(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	r := p.scan(mark("ticket Rail"), "crosscut", "count", 3)
	require.Equal(t, []any{2.0, 1.0, nil}, []any{r.field("behind"), r.field("behind_at"), r.field("check")})
	r = p.scan(mark("ticket Stile"), "bore")
	require.Equal(t, []any{nil, "holes of the first piece, against its mate", 8.0}, []any{r.field("behind"), r.field("check"), r.field("check_step")})
	p.post("/api/v1/undos", body("command", r.field("command"))).is(200, "")
	r = p.scan(mark("ticket Stile"), "bore", "checked", true)
	require.Nil(t, r.field("check"))
	var ticket pieceJSON
	p.get("/api/v1/parts/" + mark("ticket Stile")).into(&ticket)
	require.Equal(t, []checkJSON{{Step: 8, At: shoptest.Noon}}, ticket.Checks)

	// The device is an hour fast: what it calls one o'clock is noon.
	r = p.scan(mark("Shelf"), "crosscut", "at", shoptest.Noon.Add(time.Hour), "sent", shoptest.Noon.Add(time.Hour))
	require.Equal(t, []any{3600.0, "2026-03-02T12:00:00Z"}, []any{r.field("clock_off"), r.field("at")})
	require.Contains(t, string(p.get("/api/v1/parts/"+mark("Shelf")+"/events").body), `"clock_off":3600`)
}

// What lies on a cart moves with one scan of its tag.
func TestCartsForPrograms(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	made := p.post("/api/v1/carts", body()).is(201, "")
	cart := made.field("mark").(string)
	require.Equal(t, "/api/v1/parts/"+cart, made.header.Get("Location"))
	p.post("/api/v1/loads", body("mark", mark("ticket Rail"), "cart", cart, "count", 3)).is(200, "")
	p.post("/api/v1/loads", body("mark", mark("Stile 1"), "cart", cart)).is(200, "")
	require.JSONEq(t, `[{"mark":"`+cart+`","name":"Cart 1","count":4}]`, string(p.get("/api/v1/carts").body))
	var piece pieceJSON
	p.get("/api/v1/parts/" + mark("Stile 1")).into(&piece)
	require.Equal(t, parts.ID(cart), piece.Cart)
	p.get("/api/v1/parts/" + cart).into(&piece)
	require.Equal(t, []any{parts.Cart, "Cart 1", []countJSON{{Step: "rough length", Station: "crosscut", State: "ready", Count: 4}}},
		[]any{piece.Kind, piece.Name, piece.Counts})
	require.EqualValues(t, 4, p.scan(cart, "crosscut").field("count"))
	p.post("/api/v1/loads", body("mark", cart)).is(200, "")
	require.Contains(t, string(p.get("/api/v1/carts").body), `"count":0`)
}

func TestSetupsForPrograms(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	p.scan(mark("ticket Stile"), "joint")
	var setups []setupJSON
	p.get("/api/v1/setups?station=rip").into(&setups)
	require.NotEmpty(t, setups)
	first := setups[0]
	require.Equal(t, []any{"rip to width", parts.ToWidth, `2 1/4"`, 4, 5}, []any{first.Step, first.Sets, first.Size, first.Ready, first.Later})
	require.Equal(t, []setupGroupJSON{{Line: "Stile", Count: 4, Mark: parts.ID(mark("ticket Stile"))}}, first.Here)
	require.Equal(t, []setupGroupJSON{{Line: "Rail", Count: 5, Mark: parts.ID(mark("ticket Rail")), Where: "at the crosscut saw"}}, first.Coming)
}

func TestDefectsForPrograms(t *testing.T) {
	p := openProgram(t, false)
	var defects []defectJSON
	p.get("/api/v1/defects").into(&defects)
	require.NotEmpty(t, defects)
	require.Equal(t, defectJSON{Key: "hole-off", Name: "Hole off", Again: parts.BoreAgain, Limit: 2,
		Steps: []repairStepJSON{{Name: "plug sets", Clock: parts.Setting, Minutes: 120}}}, defects[0])
}
