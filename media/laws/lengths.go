package laws

// JuniorWicket is the edition with the smaller wicket that older texts of Law
// 8.4 print for junior cricket: 8 by 27 inches.
func (e Edition) JuniorWicket() Edition {
	e.Name += ", junior wicket"
	e.WicketWidth = 0.2032
	e.StumpHeight = 0.6858
	e.StumpDiameter = 0.0349
	return e
}

// Editions lists what may be chosen, the usual one first.
func Editions() []Edition { return []Edition{Code2017(), Code2017().JuniorWicket()} }

// PitchLength is one that somebody prescribes or advises. Creases and
// wickets are the same on all of them; only the far end moves.
type PitchLength struct {
	Name   string  `json:"name"`
	Metres float64 `json:"metres"` // bowling crease to bowling crease
	Advice string  `json:"advice"` // whose, and of when
}

// PitchLengths lists them, the full one first. For juniors the advice changed
// from year to year and differs from place to place, so any length may be typed
// instead.
func PitchLengths() []PitchLength {
	const (
		ecb = "ECB recommendation from the 2019 season"
		old = "Law 8.4, 2000 Code, 5th edition 2013"
	)
	return []PitchLength{
		{"22 yards", 20.12, "Law 6.1"},
		{"21 yards", 19.202, ecb + ": under 14 boys; " + old + ": under 13"},
		{"20 yards", 18.288, ecb + ": under 14 and 15 girls; " + old + ": under 11"},
		{"19 yards", 17.374, ecb + ": under 13"},
		{"18 yards", 16.459, ecb + ": under 12 boys; " + old + ": under 9"},
		{"17 yards", 15.545, ecb + ": under 10 and 11"},
		{"15 yards", 13.716, ecb + ": under 8 and 9"},
	}
}

// Zone is a stretch of a scale that has a word for it.
type Zone struct {
	Key   string  `json:"key"`   // a term of the vocabulary
	Below float64 `json:"below"` // where it ends, itself not included; it begins where the one before ends
}

// ZoneOf gives the word for a value; what is past the last end has the last
// word.
func ZoneOf(zones []Zone, v float64) string {
	for _, z := range zones {
		if v < z.Below {
			return z.Key
		}
	}
	return zones[len(zones)-1].Key
}

// Heights lists the parts of the body of a batter standing upright, from the
// ground up, as shares of the batter's height. Laws 41.6 and 41.7 judge a
// ball's height against the striker standing upright; the shares are common
// practice, no source.
func Heights() []Zone {
	return []Zone{
		{"toe", 0.07}, {"shin", 0.22}, {"knee", 0.34}, {"waist", 0.60},
		{"chest", 0.78}, {"throat", 0.87}, {"head", 1.02}, {"above-head", 1e9},
	}
}
