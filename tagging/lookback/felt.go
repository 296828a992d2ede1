package lookback

import (
	"slices"
	"strings"
	"time"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/compare"
	"netreel/tagging/vocabulary"
)

// FeltWord is something that a player may say of a ball or a block, and what
// of the coach's vocabulary it is held against.
type FeltWord struct {
	Key, Name string
	seen      []part // any of these terms; empty: nothing the coach codes says it
}

// feltWords are few, so that a player answers between two balls (common
// practice, no source: there is no standard list).
var feltWords = []FeltWord{
	{"strong", "Strong", []part{{group: groupContact, terms: []string{termMiddled}}}},
	{"clear", "Clear in my mind", []part{{group: groupDecision, terms: []string{termRight, termRightLeave}}}},
	{"late", "Late", []part{{group: groupDecision, terms: []string{termLate}}, {group: groupHands, terms: []string{termLate}}}},
	{"off-balance", "Off balance", []part{{group: groupBalance, terms: []string{"falling-off", "leaning-back", "toppling-forward"}}}},
	{"cramped", "Cramped", []part{{group: groupBase, terms: []string{"narrow"}}, {group: groupHands, terms: []string{"close"}}}},
	{"lucky", "Got away with it", []part{{group: groupContact, terms: []string{termMistimed, "inside-edge", "outside-edge", "top-edge", "glove-or-body"}}}},
}

// FeltWords lists what a player may say.
func FeltWords() []FeltWord { return feltWords }

// KnownFelt says whether a word is one of them.
func KnownFelt(key string) bool {
	for _, w := range feltWords {
		if w.Key == key {
			return true
		}
	}
	return false
}

// feltKey is the word of the list that somebody said, however they wrote it;
// "" when it is none of them.
func feltKey(said string) string {
	for _, w := range feltWords {
		if strings.EqualFold(strings.TrimSpace(said), w.Name) {
			return w.Key
		}
	}
	return ""
}

// Felt is what was said of how a ball, or a block, felt.
type Felt struct {
	Ball, Block int64 // one of them; the other 0
	Words       []string
	By          string    // the account that said it, or wrote it down
	Said        time.Time // when
	AtNet       bool      // the last of it was pressed at the net
}

// WithPressed adds the players' words that were pressed at the net to what was
// said: of each ball what was pressed after that, since whoever speaks of a
// ball later has the last word. Words in which the coach's codes can't be held
// against anything stay marks. marks are ascending by time, and on their balls;
// balls are those that may be spoken of.
func WithPressed(said []Felt, marks []tagging.Mark, balls []int64) []Felt {
	out := slices.Clone(said)
	for _, m := range marks {
		key := feltKey(m.Body)
		if m.Kind != tagging.WordMark || key == "" || !slices.Contains(balls, m.BallID) {
			continue
		}
		i := slices.IndexFunc(out, func(f Felt) bool { return f.Ball == m.BallID })
		if i < 0 {
			i = len(out)
			out = append(out, Felt{Ball: m.BallID})
		}
		if f := &out[i]; m.Made.After(f.Said) {
			if !slices.Contains(f.Words, key) {
				f.Words = append(slices.Clone(f.Words), key)
			}
			f.By, f.Said, f.AtNet = m.Who, m.Made, true
		}
	}
	return out
}

// Validate checks what is said by itself: of a ball or of a block, in words of
// the list, each once. No word takes back what was said before.
func (f Felt) Validate() error {
	bad := func(field, reason string) error {
		return fault.New(fault.Invalid, "lookback.Felt", "That could not be saved: "+field+" "+reason+".", fault.Field{Name: field, Reason: reason})
	}
	if (f.Ball > 0) == (f.Block > 0) {
		return bad("ball_id", "or block_id must be given, one of them")
	}
	for i, w := range f.Words {
		if !KnownFelt(w) || slices.Contains(f.Words[:i], w) {
			return bad("words", "must be of the list, each once")
		}
	}
	return nil
}

// FeltTable holds the player's word against the coach's.
type FeltTable struct {
	Said   Cell // balls of which the player said how they felt
	Rows   []FeltRow
	Blocks []FeltBlock
}

// FeltRow is one word against what was seen, on balls of which both spoke.
type FeltRow struct {
	Key, Name               string
	Seen                    string // what it is held against: "Hands: Late or Decision: Late decision"
	Both, Only, Other, None Cell   // felt and seen; only felt; only seen; neither
	Agreement               compare.TermAgreement
}

// FeltBlock is what was said of a block as a whole.
type FeltBlock struct {
	Block int64
	Name  string
	Words []string // names
}

func (s Set) felt(e vocabulary.Edition, said []Felt, blocks []tagging.Block) FeltTable {
	of, names := map[int64][]string{}, map[int64]string{}
	for _, b := range blocks {
		names[b.ID] = b.Name
	}
	var t FeltTable
	for _, f := range said {
		if len(f.Words) == 0 {
			continue
		}
		if f.Ball != 0 {
			of[f.Ball] = f.Words
		} else if names[f.Block] != "" {
			t.Blocks = append(t.Blocks, FeltBlock{f.Block, names[f.Block], feltNames(f.Words)})
		}
	}
	t.Said = s.cell(func(b seen) bool { return len(of[b.ID]) > 0 })
	if t.Said.N == 0 {
		return t
	}
	for _, w := range feltWords {
		t.Rows = append(t.Rows, s.feltRow(e, w, of))
	}
	return t
}

func (s Set) feltRow(e vocabulary.Edition, w FeltWord, of map[int64][]string) FeltRow {
	row := FeltRow{Key: w.Key, Name: w.Name, Seen: w.held(e)}
	count := func(felt, saw bool) Cell {
		return s.cell(func(b seen) bool {
			words := of[b.ID]
			spoke, says := w.saw(b.terms)
			return len(words) > 0 && spoke && (Terms{"": words}).has("", w.Key) == felt && says == saw
		})
	}
	row.Both, row.Only, row.Other, row.None = count(true, true), count(true, false), count(false, true), count(false, false)
	row.Agreement = compare.YesNo(w.Key, row.Both.N, row.Both.N+row.Only.N, row.Both.N+row.Other.N,
		row.Both.N+row.Only.N+row.Other.N+row.None.N)
	return row
}

// saw says whether anything of the groups that a word is held against was
// coded, and whether it says the same.
func (w FeltWord) saw(t Terms) (spoke, says bool) {
	for _, p := range w.seen {
		spoke = spoke || len(t[p.group]) > 0
		says = says || t.has(p.group, p.terms...)
	}
	return spoke, says
}

// held is what a word is held against, in the squad's words.
func (w FeltWord) held(e vocabulary.Edition) string {
	text := ""
	for _, p := range w.seen {
		g, _ := e.Group(p.group)
		if text != "" {
			text += "; "
		}
		text += g.Name + ": "
		for i, key := range p.terms {
			if i > 0 {
				text += " or "
			}
			text += name(e, p.group, key)
		}
	}
	return text
}

func feltNames(keys []string) []string {
	var names []string
	for _, w := range feltWords {
		if (Terms{"": keys}).has("", w.Key) {
			names = append(names, w.Name)
		}
	}
	return names
}
