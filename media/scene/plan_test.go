package scene

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"netreel/media/laws"
	"netreel/media/scene/body"
	"netreel/media/scene/space"
)

func shows(t *testing.T, n int) []*Show {
	var all []*Show
	for seed := range n {
		s, err := New(WinterSession(int64(seed + 1)))
		require.NoError(t, err)
		all = append(all, s)
	}
	return all
}

func TestSameSeedSameScene(t *testing.T) {
	print := func(seed int64) (string, [][]byte) {
		s := WinterSession(seed)
		s.Width, s.Height = 320, 180
		show, err := New(s)
		require.NoError(t, err)
		truth, err := json.Marshal(show.Truth())
		require.NoError(t, err)
		f := show.NewFilmer()
		var frames [][]byte
		for _, i := range []int{0, 333, 4000} {
			frames = append(frames, append([]byte{}, f.Frame(i)...))
		}
		return string(truth), frames
	}
	truth, frames := print(7)
	again, same := print(7)
	require.Equal(t, truth, again)
	require.Equal(t, frames, same)
	other, _ := print(8)
	require.NotEqual(t, truth, other)
}

func TestDemoIsAsPromised(t *testing.T) {
	for i, s := range shows(t, 25) {
		truth := s.Truth()
		require.Len(t, truth.Balls, 40)
		require.Len(t, truth.Blocks, 4)
		minutes := truth.Seconds / 60
		require.True(t, minutes > 3.5 && minutes < 4.6, "seed %d: %.2f minutes", i+1, minutes)
		require.Equal(t, int(math.Round(truth.Seconds*50)), truth.Frames)
	}
}

func TestBallsAreInOrder(t *testing.T) {
	for i, s := range shows(t, 25) {
		truth := s.Truth()
		last := 0.0
		for k, b := range truth.Balls {
			say := fmt.Sprintf("seed %d ball %d", i+1, k)
			require.Greater(t, b.Start, last, say)
			require.Greater(t, b.Release, b.Start+0.5, say)
			require.Greater(t, b.Passing, b.Release+0.3, say)
			require.GreaterOrEqual(t, b.End, b.Passing+1, say)
			if b.Bounce != nil {
				require.True(t, *b.Bounce > b.Release && *b.Bounce < b.Passing, say)
			}
			if b.Contact != nil {
				require.Equal(t, b.Passing, *b.Contact, say)
				require.InDelta(t, b.Met.Sub(truth.Camera.Eye).Len()/343, *b.Heard-*b.Contact, 1e-9, say)
			}
			block := truth.Blocks[b.Block]
			require.True(t, block.Start <= b.Start && b.End <= block.End, say)
			require.True(t, k >= block.First && k < block.First+block.Balls, say)
			last = b.End
		}
		require.Less(t, last, truth.Seconds)
	}
}

// vocabulary is the default vocabulary's groups and terms.
var vocabulary = map[string]string{
	"bowling":   "fast medium off-spin leg-spin left-arm-orthodox left-arm-wrist",
	"feed":      "bowler throw-down side-arm machine drop-feed",
	"length":    "full-toss yorker full good back-of-length short",
	"line":      "wide-off outside-off off-stump middle leg-stump outside-leg",
	"height":    "toe shin knee waist chest throat head above-head",
	"shot":      "forward-defence back-defence drive back-foot-drive cut pull hook sweep reverse-sweep glance flick loft leave evade",
	"feet":      "forward back across down-the-pitch caught still",
	"base":      "narrow sound wide",
	"balance":   "balanced falling-off leaning-back toppling-forward",
	"hands":     "high close away early late soft",
	"decision":  "right wrong right-leave wrong-leave late",
	"contact":   "middled mistimed inside-edge outside-edge top-edge glove-or-body missed none",
	"result":    "run boundary dot out struck",
	"placement": "third point cover mid-off straight mid-on midwicket square-leg fine-leg",
	"bat":       "full narrow half-width heavy",
}

func TestTermsAreOfTheVocabulary(t *testing.T) {
	for _, s := range shows(t, 10) {
		for k, b := range s.Truth().Balls {
			for group, terms := range b.Terms {
				for _, term := range terms {
					require.Contains(t, " "+vocabulary[group]+" ", " "+term+" ", "ball %d: %s", k, group)
				}
			}
			for group := range vocabulary {
				if group != "hands" && group != "placement" {
					require.Len(t, b.Terms[group], 1, "ball %d: %s", k, group)
				}
			}
			hit := b.Terms["contact"][0] != "missed" && b.Terms["contact"][0] != "none"
			require.Equal(t, hit, b.Contact != nil, "ball %d", k)
			require.Equal(t, hit, len(b.Terms["placement"]) == 1, "ball %d", k)
		}
	}
}

// The ball obeys gravity (9.81 m/s²; standard gravity is 9.80665), bounces on
// the ground between the return creases, keeps to the net, and never gains
// height by a bounce.
func TestBallsFly(t *testing.T) {
	for _, s := range shows(t, 8) {
		for k, b := range s.balls {
			tb := s.truth.Balls[k]
			const h = 0.005
			for _, l := range b.way[:min(2, len(b.way))] {
				a, m, z := l.pos(l.at), l.pos(l.at+h), l.pos(l.at+2*h)
				require.InDelta(t, -9.80665, (a.Z-2*m.Z+z.Z)/h/h, 0.01, "ball %d", k)
			}
			if tb.Bounce != nil {
				p := *tb.Pitched
				require.InDelta(t, ballRadius, p.Z, 1e-9)
				require.True(t, math.Abs(p.Y) < s.law.ReturnHalfGap && p.X > 0 && p.X < s.law.PitchLength, "ball %d at %v", k, p)
			}
			for at := tb.Release; at < tb.End+3; at += 0.01 {
				p, flying := b.way.pos(at)
				require.True(t, flying)
				require.Greater(t, p.Z, ballRadius-1e-6, "ball %d at %.2f", k, at-tb.Release)
				require.Less(t, math.Abs(p.Y), laneWidth/2, "ball %d at %.2f", k, at-tb.Release)
				require.Greater(t, p.X, backNet, "ball %d at %.2f", k, at-tb.Release)
			}
			// A ball's own size: Law 4.6, 21.0 to 22.5 cm round.
			require.True(t, 2*math.Pi*ballRadius >= 0.21 && 2*math.Pi*ballRadius <= laws.Code2017().WomensBall)
		}
	}
}

func TestBatMeetsBall(t *testing.T) {
	for seed, s := range shows(t, 8) {
		for k, b := range s.truth.Balls {
			contact := b.Terms["contact"][0]
			say := fmt.Sprintf("seed %d ball %d: %s, %s", seed+1, k, b.Terms["shot"][0], contact)
			var batter *actor
			for _, a := range s.lane {
				if a.seen(b.Passing) && a.look.Pads {
					batter = a
				}
			}
			require.NotNil(t, batter, say)
			sk := batter.skeleton(b.Passing)
			top, toe := sk.BladeEnds()
			d, _ := space.SegmentDistance(b.Met, top, toe)
			at, _ := s.balls[k].way.pos(b.Passing)
			require.InDelta(t, 0, at.Sub(b.Met).Len(), 1e-6, say)
			switch contact {
			case "middled", "mistimed", "inside-edge", "outside-edge", "top-edge":
				require.Less(t, d, batter.look.BatWidth/2+ballRadius+0.02, say)
			default:
				require.Greater(t, d, batter.look.BatWidth/2+ballRadius, say)
			}
			wide := map[string]float64{"full": body.FullBat, "narrow": body.NarrowBat}[b.Terms["bat"][0]]
			require.Equal(t, wide, batter.look.BatWidth, say)
		}
	}
}

// Nobody jumps: from frame to frame heads move less than somebody who runs.
func TestNobodyJumps(t *testing.T) {
	for seed, s := range shows(t, 1) {
		for i, a := range append(append([]*actor{}, s.lane...), s.beside...) {
			var last space.V
			for n := range s.Frames() {
				at := float64(n) / 50
				if !a.seen(at) {
					last = space.V{}
					continue
				}
				head := a.skeleton(at).Head
				if last != (space.V{}) {
					require.Less(t, head.Sub(last).Len(), 0.14, "seed %d actor %d at %.2f", seed+1, i, at)
				}
				last = head
			}
		}
	}
}

// The model gives coaches something to find.
func TestThereIsSomethingToFind(t *testing.T) {
	count := func(all []*Show, is func(map[string][]string) bool, bad func(string) bool) (share float64, n int) {
		hit := 0
		for _, s := range all {
			for _, b := range s.truth.Balls {
				if is(b.Terms) {
					n++
					if bad(b.Terms["contact"][0]) {
						hit++
					}
				}
			}
		}
		return float64(hit) / float64(n), n
	}
	all := shows(t, 40)
	poor := func(c string) bool { return c != "middled" }
	pulls := func(base string) func(map[string][]string) bool {
		return func(m map[string][]string) bool {
			return m["shot"][0] == "pull" && m["feed"][0] == "machine" && m["base"][0] == base
		}
	}
	narrow, n := count(all, pulls("narrow"), poor)
	require.Greater(t, n, 60)
	sound, _ := count(all, pulls("sound"), poor)
	require.Greater(t, narrow, 2*sound)
	caught, _ := count(all, func(m map[string][]string) bool { return m["feet"][0] == "caught" }, poor)
	there, _ := count(all, func(m map[string][]string) bool { return m["feet"][0] == "down-the-pitch" }, poor)
	require.Greater(t, caught, 2*there)
	full, _ := count(all, func(m map[string][]string) bool { return m["bat"][0] == "full" && m["contact"][0] != "none" }, poor)
	small, _ := count(all, func(m map[string][]string) bool { return m["bat"][0] == "narrow" }, poor)
	require.Greater(t, small, full)
	for _, s := range all {
		left := 0
		for _, b := range s.truth.Balls {
			if b.Contact == nil {
				left++
			}
		}
		require.True(t, left >= 3 && left <= 16, "%d not struck", left)
	}
}

func TestLeftShare(t *testing.T) {
	for _, share := range []float64{0, 0.4, 1} {
		s := WinterSession(4)
		s.LeftShare = share
		s.Blocks = s.Blocks[:2]
		s.Blocks[0].Balls, s.Blocks[1].Balls = 60, 60
		show, err := New(s)
		require.NoError(t, err)
		left := 0
		for _, b := range show.truth.Balls {
			if b.Terms["contact"][0] == "none" {
				left++
			}
		}
		require.InDelta(t, share, float64(left)/120, 0.14)
	}
}

// A ball that was missed and called out went into the stumps, and they move.
func TestBowledBallsHitTheWicket(t *testing.T) {
	n := 0
	for _, s := range shows(t, 30) {
		for k, b := range s.truth.Balls {
			if b.Terms["contact"][0] != "missed" {
				continue
			}
			tilted := math.Abs(s.tilt(b.Passing + 0.35))
			if b.Terms["result"][0] != "out" {
				require.Zero(t, tilted, "ball %d", k)
				continue
			}
			n++
			require.Greater(t, tilted, 0.01, "ball %d", k)
			at, _ := s.balls[k].way.pos(s.wicketAt(b.Passing))
			require.InDelta(t, 0, at.X, 0.01)
			require.Less(t, math.Abs(at.Y), s.law.WicketWidth/2+ballRadius)
			require.Less(t, at.Z, s.law.StumpHeight+ballRadius)
		}
	}
	require.Greater(t, n, 10)
}

// wicketAt is when the stumps are next hit after a time.
func (s *Show) wicketAt(after float64) float64 {
	for _, w := range s.wickets {
		if w.at >= after {
			return w.at
		}
	}
	return math.NaN()
}
