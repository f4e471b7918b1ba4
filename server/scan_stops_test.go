package server_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// Once the cart was scanned, a reading puts the piece on it: the card counts,
// the undo is in view, and what cannot go on it does not lose the cart.
func TestEachScanGoesOnTheCart(t *testing.T) {
	s, job := scanShop(t, fortyEight)
	added, err := s.bench.AddCart(t.Context(), shoptest.NewID(), "", "")
	require.NoError(t, err)
	piece := func(name string) string { return named(t, s, job.Job.Code, name, parts.Single) }
	_, err = s.bench.Hold(t.Context(), holding(piece("Stile 3")))
	require.NoError(t, err)
	p := scanPhone(t, plain(t, s), 390)
	p.open("/S/crosscut")
	p.startScan("/scan")
	p.press("#modes button[value=load]")
	p.wedge(string(added.Mark))
	p.await(`document.querySelector('#card').innerText.includes('Cart 1: empty')`)
	p.wedge(piece("Stile 1"))
	p.await(`document.querySelector('#card').innerText.includes('Cart 1: 1 on it')`)
	p.wedge(piece("Stile 2"))
	p.await(`document.querySelector('#card').innerText.includes('Cart 1: 2 on it')`)
	require.False(t, see[bool](p, `document.getElementById('undo').hidden`))
	p.wedge(piece("Stile 3"))
	p.await(`document.getElementById('signal').className === 'bad' && document.querySelector('#card').innerText.includes('Cart 1: 2 on it')`)
	p.press("#signal-on")
	look, err := s.bench.Look(t.Context(), string(added.Mark))
	require.NoError(t, err)
	assert.Len(t, look.View.Group, 2)
	p.press("#undo") // the last that went on
	p.await(`document.querySelector('#card').innerText.includes('Cart 1: 1 on it')`)
}

// What cannot go into the frame is refused when it is scanned, and what lies
// on the bench stays listed, through a refusal of the whole as well.
func TestADryFitTakesOnlyWhatGoesIn(t *testing.T) {
	s, job := scanShop(t, shoptest.FramesList)
	code := job.Job.Code
	piece := func(name string) string { return named(t, s, code, name, parts.Single) }
	frame := named(t, s, code, "Locker front 1", parts.Assembly)
	finishParts(t, s, job)
	scrapped, loose := piece("Rail 4"), piece("Shelf")
	other := named(t, s, code, "Locker front 2", parts.Assembly)
	_, err := s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: other, Station: "glue", Parts: []string{piece("Stile 4")}})
	require.NoError(t, err)
	_, err = s.bench.Hold(t.Context(), holding(piece("Stile 3")))
	require.NoError(t, err)
	_, err = s.bench.Scrap(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: scrapped, Reason: "Split"})
	require.NoError(t, err)
	p := scanPhone(t, plain(t, s), 390)
	p.open("/S/glue")
	p.startScan("/scan")
	p.press("#modes button[value=fit]")
	p.wedge(frame)
	p.await(`document.querySelector('#card').innerText.includes('in stock')`)
	p.wedge(piece("Stile 2"))
	p.await(`document.querySelector('.bench').innerText.includes('Stile 2')`)
	assert.Contains(t, p.text("#card"), "Stile: 1 of 1 on the bench")
	for mark, why := range map[string]string{piece("Stile 3"): "is held", scrapped: "was scrapped", piece("Stile 4"): "is in Locker front 2 already", loose: "none of the parts"} {
		p.await(`document.getElementById('signal').hidden`)
		p.wedge(mark)
		p.await(`document.getElementById('signal').className === 'bad' && !document.getElementById('signal').hidden`)
		assert.Contains(t, p.text("#signal"), why)
		assert.Equal(t, 1, see[int](p, `document.querySelectorAll('.bench button').length`), why)
		p.press("#signal-on")
	}
	for _, st := range job.States { // no rail is left for it
		if st.Kind == parts.Single && job.LineOf(st).Name == "Rail" {
			s.bench.Hold(t.Context(), holding(string(st.Part)))
		}
	}
	p.press("#act .main")
	p.await(`document.getElementById('signal').className === 'bad' && !document.getElementById('signal').hidden`)
	assert.Contains(t, p.text("#signal-anyway"), "Record it all the same: ")
	assert.Equal(t, "Leave it", p.text("#signal-on"))
	p.press("#signal-on")
	assert.Contains(t, p.text(".bench"), "Stile 2", "the list outlives a refusal")
	n, err := s.bench.Look(t.Context(), frame)
	require.NoError(t, err)
	assert.Empty(t, n.State.Parts)
}

// What cannot be done here now is a card in the colour of a refusal; it says
// why, and after it was overruled that it was early.
func TestTheCardIsTheRefusal(t *testing.T) {
	s, job := scanShop(t, shoptest.FramesList)
	frame := named(t, s, job.Job.Code, "Locker front 1", parts.Assembly)
	finishParts(t, s, job)
	p := scanPhone(t, plain(t, s), 390)
	p.open("/S/stain")
	p.startScan("/scan")
	p.wedge(frame)
	p.await(`document.querySelector('#card .alarm')`)
	assert.Contains(t, p.text(".alarm"), "Not here: at the glue bench")
	assert.Equal(t, "rgb(154, 38, 25)", see[string](p, `getComputedStyle(document.getElementById('card')).backgroundColor`))
	assert.False(t, see[bool](p, `!!document.querySelector('#act .main')`), "nothing invites to it")
	for _, step := range []string{"glue", "glue"} {
		_, err := s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: frame, Station: parts.Station(step)})
		require.NoError(t, err)
	}
	look, err := s.bench.Look(t.Context(), frame)
	require.NoError(t, err)
	require.Equal(t, "in clamps", look.Stands)
	p.open("/S/sand")
	p.startScan("/scan")
	p.wedge(frame)
	p.await(`document.querySelector('#card .alarm')`)
	clamps := look.Wait.Ends().UTC().Format("15:04")
	clamps = "(tomorrow )?" + clamps // late in the evening
	assert.Regexp(t, "Still in clamps until "+clamps, p.text(".alarm"))
	assert.Regexp(t, "in clamps until "+clamps+", then setting until ", p.text("#card .tag"))
	p.fits()
	p.screen("scan-alarm")
	p.press("#act .early")
	p.await(`document.querySelector('#card h2.good')`)
	assert.Contains(t, p.text("#card"), "It was early: ")
}

// Without a network the phone names what it keeps, says that it has it already,
// lists what waits, and still has the last scan with its undo after a reload.
func TestWhatIsKeptHasItsName(t *testing.T) {
	s, job := scanShop(t, fortyEight)
	mark := named(t, s, job.Job.Code, "Stile 1", parts.Single)
	p := scanPhone(t, s.url, 390)
	p.open("/S/crosscut")
	p.startScan("/scan")
	p.await(`navigator.serviceWorker.controller && localStorage.getItem('scan-names')`)
	p.offline(true)
	p.wedge(mark)
	p.await(`document.querySelector('#act .main')`)
	p.press("#act .main")
	p.lastIs("Rough length, Stile 1, kept on this phone")
	p.await(`document.getElementById('signal').hidden`)
	see[bool](p, `(performance.now = () => 1e9, true)`) // not the same reading
	p.wedge(mark)
	p.await(`document.getElementById('signal-word').textContent === 'Kept already'`)
	p.await(`document.getElementById('waiting').textContent === 'waiting 1'`)
	p.press("#waiting")
	p.await(`document.getElementById('queue-list').innerText.includes('Rough length, Stile 1')`)
	p.open("/scan")
	p.await(`document.documentElement.dataset.ready === '1'`)
	p.lastIs("Rough length, Stile 1, kept on this phone")
	p.press("#undo")
	p.lastIs("Nothing scanned")
	p.offline(false)
	p.await(`document.getElementById('waiting').hidden`)
	n, _ := recordedOf(t, s, job.Job.Code)
	assert.Zero(t, n)
}

// A part that was fitted into a frame has the frame's name without a network,
// and the list stays small on the way.
func TestAPartInAFrameHasItsName(t *testing.T) {
	s, job := scanShop(t, shoptest.FramesList)
	finishParts(t, s, job)
	frame, stile := named(t, s, job.Job.Code, "Locker front 2", parts.Assembly), named(t, s, job.Job.Code, "Stile 4", parts.Single)
	_, err := s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: frame, Station: "glue", Parts: []string{stile}})
	require.NoError(t, err)
	p := scanPhone(t, s.url, 390)
	p.open("/S/glue")
	p.startScan("/scan")
	p.await(`navigator.serviceWorker.controller && localStorage.getItem('scan-names')`)
	sent := see[int](p, `performance.getEntriesByType('resource').find(e => e.name.endsWith('/scan/names')).encodedBodySize`)
	assert.Less(t, sent*2, see[int](p, `localStorage.getItem('scan-names').length`), "the names are sent compressed")
	p.offline(true)
	p.wedge(stile)
	p.await(`document.querySelector('#act .main')`)
	assert.Contains(t, p.text("#card"), "Locker front 2")
	assert.Contains(t, p.text("#card"), stile+" is part of it")
}

// Whoever uses the phone says so on the page, with a name that is new as well.
func TestIAm(t *testing.T) {
	s, _ := scanShop(t, fortyEight)
	p := scanPhone(t, plain(t, s), 390)
	p.startScan("/scan")
	see[bool](p, `(e => { e.value = '+'; e.dispatchEvent(new Event('change')); return true; })(document.getElementById('iam'))`)
	p.write("#iam-name", "Rosa")
	p.press("#iam-new button")
	p.await(`document.getElementById('who').textContent === 'Rosa'`)
	p.startScan("/scan")
	p.await(`document.getElementById('who').textContent === 'Rosa' && document.getElementById('iam').selectedOptions[0].text === 'Rosa'`)
}
