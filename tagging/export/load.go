package export

import (
	"encoding/csv"
	"io"
	"strconv"

	"netreel/tagging/plan"
	"netreel/tagging/vocabulary"
)

// LoadCSV writes a row for every day, person and kind of ball (RFC 4180, with
// a header line), for those who look after strength and conditioning. Speeds
// say where they are known from; of measured balls they are means.
func LoadCSV(w io.Writer, stints []plan.Stint, v vocabulary.Edition) error {
	if _, err := io.WriteString(w, byteOrderMark); err != nil {
		return err
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	if err := out.Write([]string{"Date", "Person", "Doing", "How fed", "Bowling", "Speed km/h", "Speed from", "Slowest km/h", "Fastest km/h", "Balls", "Counted from"}); err != nil {
		return err
	}
	for _, s := range stints {
		feed, _ := v.Term("feed", s.Feed)
		bowling, _ := v.Term("bowling", s.Bowling)
		if err := out.Write([]string{
			s.Day, harmless(s.Person), string(s.Doing), harmless(feed.Name), harmless(bowling.Name), kph(s.SpeedKPH), string(s.SpeedBy),
			kph(s.Slowest), kph(s.Fastest), strconv.Itoa(s.Balls), s.Counted,
		}); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// kph writes a speed; one that is not known stays empty.
func kph(v float64) string {
	if v == 0 {
		return ""
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}
