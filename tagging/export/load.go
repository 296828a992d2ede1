package export

import (
	"encoding/csv"
	"io"
	"strconv"

	"netreel/tagging/plan"
	"netreel/tagging/vocabulary"
)

// LoadCSV writes a row for every day, person and kind of ball (RFC 4180, with
// a header line), for those who look after strength and conditioning.
func LoadCSV(w io.Writer, stints []plan.Stint, v vocabulary.Edition) error {
	if _, err := io.WriteString(w, byteOrderMark); err != nil {
		return err
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	if err := out.Write([]string{"Date", "Person", "Doing", "How fed", "Bowling", "Speed km/h", "Balls", "Counted from"}); err != nil {
		return err
	}
	for _, s := range stints {
		speed := ""
		if s.SpeedKPH > 0 {
			speed = strconv.FormatFloat(s.SpeedKPH, 'f', -1, 64)
		}
		feed, _ := v.Term("feed", s.Feed)
		bowling, _ := v.Term("bowling", s.Bowling)
		if err := out.Write([]string{
			s.Day, harmless(s.Person), string(s.Doing), harmless(feed.Name), harmless(bowling.Name), speed, strconv.Itoa(s.Balls), s.Counted,
		}); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
