package labels

import (
	"math/bits"
	"slices"
)

// block is a rectangle of dark modules. Nothing dark is ever to its left or
// right; its top or foot is free if nothing dark touches it there either.
type block struct {
	x, y, w, h        int
	freeTop, freeFoot bool
}

// blocks covers the dark modules of a square grid with rectangles that do not
// overlap: runs along the rows, joined where the same run repeats below. They
// are the shortest way to write a code.
func blocks(dark [][]bool) []block {
	var out []block
	// latest is the number of the last block that began at x, plus 1.
	latest := make([]int, len(dark))
	for y, row := range dark {
		for x := 0; x < len(row); x++ {
			if !row[x] {
				continue
			}
			begin := x
			for x < len(row) && row[x] {
				x++
			}
			foot := y == len(dark)-1 || !slices.Contains(dark[y+1][begin:x], true)
			if i := latest[begin] - 1; i >= 0 && out[i].y+out[i].h == y && out[i].w == x-begin {
				out[i].h++
				out[i].freeFoot = foot
				continue
			}
			top := y == 0 || !slices.Contains(dark[y-1][begin:x], true)
			out = append(out, block{begin, y, x - begin, 1, top, foot})
			latest[begin] = len(out)
		}
	}
	return out
}

// corner is a corner of an outline, in modules, x to the right and y down.
type corner struct{ x, y int }

// heading is a direction of travel along an edge.
type heading uint8

const (
	east heading = iota
	south
	west
	north
)

// steps are the headings as x and y.
var steps = [4][2]int{{1, 0}, {0, 1}, {-1, 0}, {0, -1}}

// outlines gives the closed outlines of the dark modules of a square grid,
// dark on the right hand: one path without seams, for a screen. Modules that
// only touch at a corner keep outlines of their own. Fill them even-odd.
func outlines(dark [][]bool) [][]corner {
	n := len(dark) + 1
	edges := edgesOf(dark)
	var loops [][]corner
	for start := range edges {
		for edges[start] != 0 {
			loops = append(loops, walk(edges, n, start))
		}
	}
	return loops
}

// edgesOf gives, for each grid point, a bit for every heading in which an edge
// between dark and light leaves it.
func edgesOf(dark [][]bool) []uint8 {
	n := len(dark) + 1
	at := func(x, y int) bool {
		return x >= 0 && y >= 0 && x < n-1 && y < n-1 && dark[y][x]
	}
	edges := make([]uint8, n*n)
	for y := range dark {
		for x := range dark[y] {
			if !dark[y][x] {
				continue
			}
			if !at(x, y-1) {
				edges[y*n+x] |= 1 << east
			}
			if !at(x+1, y) {
				edges[y*n+x+1] |= 1 << south
			}
			if !at(x, y+1) {
				edges[(y+1)*n+x+1] |= 1 << west
			}
			if !at(x-1, y) {
				edges[(y+1)*n+x] |= 1 << north
			}
		}
	}
	return edges
}

// walk follows edges from the grid point start until it is back, taking them
// away. The first point in reading order is always a corner.
func walk(edges []uint8, n, start int) []corner {
	var loop []corner
	// leave gives the way on for who comes along h: right before straight
	// before left, which goes round the same module.
	leave := func(at int, h heading) heading {
		for _, turn := range [...]heading{1, 0, 3} {
			if next := (h + turn) % 4; edges[at]&(1<<next) != 0 {
				return next
			}
		}
		return h
	}
	first := heading(bits.TrailingZeros8(edges[start]))
	at, h := start, first
	for {
		edges[at] &^= 1 << h
		at += steps[h][1]*n + steps[h][0]
		if at == start {
			break
		}
		if next := leave(at, h); next != h {
			loop = append(loop, corner{at % n, at / n})
			h = next
		}
	}
	return append([]corner{{start % n, start / n}}, loop...)
}
