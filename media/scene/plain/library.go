package plain

import (
	"encoding/binary"
	"io/fs"
	"math"
	"math/rand/v2"
	"path"
	"strings"
)

// Rate is the sample rate of all sound here.
const Rate = 44100

// Kind is what a bat sounds like.
type Kind int

// The kinds of bat sound. Made is calculated; the others are recordings of
// blows of wood and hand, calculated too where they are not installed.
const (
	Made Kind = iota
	SideStick
	Rimshot
	RimClick
	Stick
	Cajon
	WoodBlock
	Clave
)

// recorded says where each kind's recordings lie in Debian's
// hydrogen-drumkits: their path's folder and the beginning of their name.
var recorded = map[Kind][2]string{
	SideStick: {"The Black Pearl 1.0", "PearlSideStick"},
	Rimshot:   {"The Black Pearl 1.0", "PearlSnareRimshot"},
	RimClick:  {"ForzeeStereo", "RimClick"},
	Stick:     {"ForzeeStereo", "Stick"},
	Cajon:     {"Gimme A Hand 1.0", "CajonSlaps"},
	WoodBlock: {"Gimme A Hand 1.0", "WoodBlock"},
	Clave:     {"Gimme A Hand 1.0", "Clave"},
}

// Library holds recorded sounds, each scaled to a peak of 1. Without any, all
// sounds are calculated.
type Library struct {
	blows map[Kind][][]float32
	claps [][]float32
	talk  [][]float32
}

// Where Debian's packages hydrogen-drumkits and asterisk-core-sounds-en-wav put
// their recordings, from the root of the file system.
const (
	kitsDir   = "usr/share/hydrogen/data/drumkits"
	speechDir = "usr/share/asterisk/sounds/en_US_f_Allison"
)

// Load reads the recordings that are installed under root (os.DirFS("/")). What
// is missing or of another format is left out.
func Load(root fs.FS) *Library {
	l := &Library{blows: map[Kind][][]float32{}}
	for kind, at := range recorded {
		l.blows[kind] = read(root, path.Join(kitsDir, at[0]), at[1], 0.6)
	}
	l.claps = read(root, path.Join(kitsDir, "Gimme A Hand 1.0"), "HandClap", 0.4)
	l.talk = read(root, speechDir, "", 6)
	return l
}

// Installed says whether there are recorded blows and recorded talk.
func (l *Library) Installed() bool { return len(l.blows[SideStick]) > 0 && len(l.talk) > 0 }

// read gives the WAV files of a folder whose names begin so, most seconds long.
func read(root fs.FS, dir, prefix string, most float64) [][]float32 {
	list, err := fs.ReadDir(root, dir)
	if err != nil {
		return nil
	}
	var out [][]float32
	for _, e := range list {
		if !strings.HasPrefix(e.Name(), prefix) || !strings.HasSuffix(e.Name(), ".wav") || len(out) == 80 {
			continue
		}
		raw, err := fs.ReadFile(root, path.Join(dir, e.Name()))
		if err != nil {
			continue
		}
		if x := decode(raw); len(x) > Rate/20 {
			out = append(out, level(x[:min(len(x), int(most*Rate))]))
		}
	}
	return out
}

// decode reads 16- or 24-bit PCM from a RIFF WAVE file, mixes it to mono and
// brings it to Rate. It returns nil for anything else.
func decode(raw []byte) []float32 {
	if len(raw) < 44 || string(raw[:4]) != "RIFF" {
		return nil
	}
	var channels, bits int
	var rate float64
	for at := 12; at+8 <= len(raw); {
		size := int(binary.LittleEndian.Uint32(raw[at+4:]))
		body := raw[at+8 : min(at+8+size, len(raw))]
		switch string(raw[at : at+4]) {
		case "fmt ":
			if len(body) < 16 {
				return nil
			}
			channels = int(binary.LittleEndian.Uint16(body[2:]))
			rate = float64(binary.LittleEndian.Uint32(body[4:]))
			bits = int(binary.LittleEndian.Uint16(body[14:]))
		case "data":
			if channels < 1 || rate <= 0 || bits != 16 && bits != 24 {
				return nil
			}
			return mono(body, channels, bits/8, rate)
		}
		at += 8 + size + size&1
	}
	return nil
}

func mono(body []byte, channels, width int, rate float64) []float32 {
	n := len(body) / (channels * width)
	own := make([]float64, n+1)
	for i := range n {
		for c := range channels {
			p := body[(i*channels+c)*width:]
			// The two upper bytes; a third adds nothing here.
			own[i] += float64(int16(binary.LittleEndian.Uint16(p[width-2:]))) / 32768 / float64(channels)
		}
	}
	if n > 0 {
		own[n] = own[n-1]
	}
	if rate < 20000 { // telephone speech: keep its images out
		lp := lowPass(rate*0.45, rate)
		for i := range own {
			own[i] = lp.step(own[i])
		}
	}
	out := make([]float32, int(float64(n)*Rate/rate))
	for i := range out {
		x := float64(i) * rate / Rate
		k := min(int(x), n-1)
		out[i] = float32(own[k] + (own[k+1]-own[k])*(x-float64(k)))
	}
	return out
}

// level cuts the silence before a sound and scales its peak to 1.
func level(x []float32) []float32 {
	var top float32
	for _, v := range x {
		top = max(top, v, -v)
	}
	if top == 0 {
		return nil
	}
	from := 0
	for max(x[from], -x[from]) < 0.1*top {
		from++
	}
	out := make([]float32, len(x)-from)
	for i := range out {
		out[i] = x[from+i] / top
	}
	return out
}

// pick is one of several, nil of none.
func pick(r *rand.Rand, list [][]float32) []float32 {
	if len(list) == 0 {
		return nil
	}
	return list[r.IntN(len(list))]
}

// filter is a second-order low-pass section (Butterworth, by the bilinear
// transform).
type filter struct{ b, a1, a2, x1, x2, y1, y2 float64 }

func lowPass(hz, rate float64) *filter {
	k := math.Tan(math.Pi * min(hz/rate, 0.49))
	n := 1 / (1 + math.Sqrt2*k + k*k)
	return &filter{b: k * k * n, a1: 2 * (k*k - 1) * n, a2: (1 - math.Sqrt2*k + k*k) * n}
}

func (f *filter) step(x float64) float64 {
	y := f.b*(x+2*f.x1+f.x2) - f.a1*f.y1 - f.a2*f.y2
	f.x1, f.x2, f.y1, f.y2 = x, f.x1, y, f.y1
	return y
}
