package split

import (
	"iter"
	"math"
	"sort"
)

// onset is one sudden sound and what it sounds like. Levels are in dB.
type onset struct {
	at     float64 // s on the file's clock: when it begins
	peak   frame   // level of each band at its loudest
	lift   frame   // how far each band jumped above the 20 ms before
	snr    frame   // how far each band stands above its running floor
	rise   float64 // ms from its beginning to its greatest swing
	fall   float64 // dB lost 20 to 40 ms after the peak
	fade   float64 // dB lost 80 to 160 ms after the peak
	before float64 // dB by which the 80 ms before were quieter than the peak
	busy   float64 // share of the second around it that stands well above the floor
	alone  float64 // dB by which its peak stands above all else within half a second
	voiced float64 // 0 to 1: how periodic the 40 ms after it are, as a voice is
}

// within goes through the onsets of a stretch, both ends with it, each with its index in
// the list, which ascends.
func within(list []onset, from, to float64) iter.Seq2[int, onset] {
	return func(yield func(int, onset) bool) {
		i := sort.Search(len(list), func(i int) bool { return list[i].at >= from })
		for ; i < len(list) && list[i].at <= to && yield(i, list[i]); i++ {
		}
	}
}

// The ear's reach, in frames.
const (
	baseFrom    = 12  // an onset's base is the mean from here ...
	baseTo      = 3   // ... to here before it
	nearFrames  = 20  // of two onsets closer than this the stronger is kept
	pastFrames  = 225 // how far back and forward the features look
	ringFrames  = 1024
	ringSamples = ringFrames * frameLen
	minLift     = 5.0  // dB; weaker jumps are not looked at
	maxLift     = 30.0 // dB; more tells nothing more
	loudAbove   = 8.0  // dB above the floor: somebody is making a noise
)

// ear listens to samples in order and collects onsets. It holds two seconds
// of sound, however long the footage is.
type ear struct {
	bands   *bands
	floor   floor
	frames  [ringFrames]frame
	lifts   [ringFrames]float32
	floors  [ringFrames]frame
	raw     [ringSamples]float32
	n       int // samples heard
	nf      int // frames heard
	pending []int
	onsets  []onset
	env     *envelope
	clipped int // samples at full scale
	loudest float64
}

func newEar(duration float64) *ear {
	return &ear{bands: newBands(), env: newEnvelope(duration), loudest: silenceDB}
}

// hear takes the next samples.
func (e *ear) hear(samples []float32) {
	for _, s := range samples {
		if !(s >= -4 && s <= 4) { // NaN, infinite or broken
			s = 0
		}
		if s >= 0.999 || s <= -0.999 {
			e.clipped++
		}
		e.raw[e.n%ringSamples] = s
		e.n++
		if f, ok := e.bands.add(float64(s)); ok {
			e.frame(f)
		}
	}
}

// end tells the ear that the sound is over: what waits for its future is
// judged on silence.
func (e *ear) end() {
	for range pastFrames + baseFrom {
		e.hear(make([]float32, frameLen))
	}
}

func (e *ear) frame(f frame) {
	e.floor.add(f)
	i := e.nf
	e.frames[i%ringFrames] = f
	e.floors[i%ringFrames] = e.floor.level
	e.env.add(float64(i)/framesPerS, f)
	e.loudest = max(e.loudest, f.high())
	e.nf++
	const ahead = 2
	k := i - ahead
	if k < baseFrom {
		return
	}
	_, strength := e.lift(k)
	e.lifts[k%ringFrames] = float32(strength)
	// A frame is an onset if nothing around it jumps more.
	if c := k - nearFrames; c >= baseFrom && e.peaks(c) {
		e.pending = append(e.pending, c)
	}
	for len(e.pending) > 0 && e.pending[0]+pastFrames <= k {
		e.onsets = append(e.onsets, e.describe(e.pending[0]))
		e.pending = e.pending[1:]
	}
}

func (e *ear) at(i int) frame { return e.frames[((i%ringFrames)+ringFrames)%ringFrames] }

// lift says how far each band jumps at frame k, and the strength of the jump.
func (e *ear) lift(k int) (frame, float64) {
	var base, top, lift frame
	fl := e.floors[k%ringFrames]
	for b := range base {
		var sum float32
		for i := k - baseFrom; i <= k-baseTo; i++ {
			sum += max(e.at(i)[b], fl[b])
		}
		base[b] = sum / (baseFrom - baseTo + 1)
		top[b] = max(e.at(k)[b], e.at(k + 1)[b], e.at(k + 2)[b])
		lift[b] = min(max(top[b]-base[b], 0), maxLift)
	}
	return lift, max(lift.high(), 0.6*float64(lift[bandThud]))
}

// peaks says whether frame c jumps more than any within nearFrames of it.
func (e *ear) peaks(c int) bool {
	v := e.lifts[c%ringFrames]
	if v < minLift {
		return false
	}
	for d := 1; d <= nearFrames; d++ {
		if c-d >= baseFrom && e.lifts[(c-d)%ringFrames] >= v || e.lifts[(c+d)%ringFrames] > v {
			return false
		}
	}
	return true
}

// describe measures the onset at frame k; its future has been heard.
func (e *ear) describe(k int) onset {
	var o onset
	o.lift, _ = e.lift(k)
	fl := e.floors[k%ringFrames]
	top := k
	for i := k; i <= k+4; i++ {
		if e.at(i).high() > e.at(top).high() {
			top = i
		}
		for b := range o.peak {
			if i == k || e.at(i)[b] > o.peak[b] {
				o.peak[b] = e.at(i)[b]
			}
		}
	}
	for b := range o.snr {
		o.snr[b] = o.peak[b] - fl[b]
	}
	peak := o.peak.high()
	mean := func(from, to int) float64 { // of the high bands, frames from..to
		var sum float64
		for i := from; i <= to; i++ {
			sum += e.at(i).high()
		}
		return sum / float64(to-from+1)
	}
	o.fall = peak - mean(top+10, top+20)
	o.fade = peak - mean(top+40, top+80)
	o.before = peak - mean(max(0, k-40), k-5)
	var busy, of int
	next := silenceDB // the loudest frame beside the sound itself
	for i := max(0, k-pastFrames); i <= k+pastFrames; i++ {
		if i > k-8 && i < k+25 {
			continue // the sound itself
		}
		of++
		level := e.at(i).high()
		if level > fl.high()+loudAbove {
			busy++
		}
		if i < k-15 || i > k+60 {
			next = max(next, level)
		}
	}
	o.alone = peak - next
	o.busy = float64(busy) / float64(max(of, 1))
	begin, swing := e.attack(k)
	o.at = float64(begin) / soundRate
	o.rise = float64(swing-begin) * 1000 / soundRate
	o.voiced = e.periodic(begin + 12*soundRate/1000)
	return o
}

// sample gives raw sample i; samples not held are 0.
func (e *ear) sample(i int) float64 {
	if i < 0 || i >= e.n || i <= e.n-ringSamples {
		return 0
	}
	return float64(e.raw[i%ringSamples])
}

// attack finds the sample at which the sound near frame k begins and the one
// of its greatest swing. It looks at differences of samples, which favours the
// high part that a blow begins with.
func (e *ear) attack(k int) (begin, swing int) {
	diff := func(i int) float64 { return math.Abs(e.sample(i) - e.sample(i-1)) }
	from, to := (k-4)*frameLen, (k+5)*frameLen
	swing = from
	var top float64
	for i := from; i < to; i++ {
		if d := diff(i); d > top {
			top, swing = d, i
		}
	}
	var noise float64
	for i := from - 10*frameLen; i < from-2*frameLen; i++ {
		noise = max(noise, diff(i))
	}
	level := max(0.15*top, min(1.5*noise, 0.7*top))
	const gap = 2 * soundRate / 1000
	begin = swing
	for i := swing; i > from-4*frameLen && begin-i <= gap; i-- {
		if diff(i) >= level {
			begin = i
		}
	}
	return begin, swing
}

// periodic says how much the 40 ms from sample i on repeat themselves at the
// pitch of a voice (70 to 400 Hz): the greatest normalised autocorrelation.
func (e *ear) periodic(i int) float64 {
	const (
		halfRate = soundRate / 2
		n        = 40 * halfRate / 1000
		maxLag   = halfRate / 70
		minLag   = halfRate / 400
	)
	var x [n + maxLag]float64 // at 8 kHz: pairs averaged
	for j := range x {
		x[j] = (e.sample(i+2*j) + e.sample(i+2*j+1)) / 2
	}
	var best float64
	for lag := minLag; lag <= maxLag; lag++ {
		var xy, xx, yy float64
		for j := range n {
			xy += x[j] * x[j+lag]
			xx += x[j] * x[j]
			yy += x[j+lag] * x[j+lag]
		}
		if d := xx * yy; d > 1e-12 {
			best = max(best, xy/math.Sqrt(d))
		}
	}
	return best
}
