package scene

import "netreel/media/scene/paint"

// The frame's number can be burned in as a row of squares along the upper
// edge: white, black, 20 bits with the highest first (white is 1), and a
// parity square that makes the number of white bits even. It survives any
// video codec.
const (
	codeBits   = 20
	codeSquare = 16 // pixels
)

// codeAt gives the side of a square for a picture of a width.
func codeSide(width int) int { return max(4, min(codeSquare, width/(codeBits+4))&^1) }

func writeCode(c *paint.Canvas, n int) {
	side := codeSide(c.Width)
	put := func(i int, white bool) {
		v := byte(16)
		if white {
			v = 235
		}
		for y := range side {
			row := c.Y[y*c.Width+i*side:][:side]
			for x := range row {
				row[x] = v
			}
			if y%2 == 0 {
				at := y/2*(c.Width/2) + i*side/2
				for x := range side / 2 {
					c.U[at+x], c.V[at+x] = 128, 128
				}
			}
		}
	}
	put(0, true)
	put(1, false)
	parity := false
	for b := range codeBits {
		one := n>>(codeBits-1-b)&1 == 1
		parity = parity != one
		put(2+b, one)
	}
	put(2+codeBits, parity)
}

// ReadCode reads a burned-in frame number back from the luma plane of a
// decoded frame of the film's own size; false when there is none.
func ReadCode(luma []byte, width int) (int, bool) {
	side := codeSide(width)
	if len(luma) < side*width {
		return 0, false
	}
	white := func(i int) bool {
		sum, n := 0, 0
		for y := side / 4; y < side-side/4; y++ {
			for x := side / 4; x < side-side/4; x++ {
				sum += int(luma[y*width+i*side+x])
				n++
			}
		}
		return sum > 125*n
	}
	if !white(0) || white(1) {
		return 0, false
	}
	n, parity := 0, false
	for b := range codeBits {
		n <<= 1
		if white(2 + b) {
			n |= 1
			parity = !parity
		}
	}
	return n, parity == white(2+codeBits)
}
