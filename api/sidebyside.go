package api

import (
	"context"

	"github.com/labstack/echo/v4"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/measure"
)

// twoBalls is the input of a route that lays two balls side by side.
type twoBalls struct{ Left, Right int64 }

func (in *twoBalls) bind(c echo.Context) error {
	for name, id := range map[string]*int64{"left": &in.Left, "right": &in.Right} {
		n, err := queryInt(c.QueryParams(), name, 0)
		if err == nil && n == 0 {
			err = fault.New(fault.Invalid, "api.twoBalls", "Choose two balls to lay side by side.",
				fault.Field{Name: name, Reason: "must name a ball"})
		}
		if err != nil {
			return err
		}
		*id = int64(n)
	}
	return nil
}

func (s *Server) sideBySide(ctx context.Context, v tagging.Viewer, in twoBalls) (wireSideBySide, error) {
	pair, err := s.store.SideBySide(ctx, v, in.Left, in.Right)
	if err != nil {
		return wireSideBySide{}, err
	}
	return wireSideBySide{ownLinks.item(pair[0]), ownLinks.item(pair[1]), heldAgainst(pair[0].Ball, pair[1].Ball)}, nil
}

type wireSideBySide struct {
	Left     wirePlaylistItem  `json:"left"`
	Right    wirePlaylistItem  `json:"right"`
	Measures []wireTwoMeasured `json:"measures"`
}

// wireTwoMeasured is a measure of two balls; more is how much the right one's
// is above the left one's.
type wireTwoMeasured struct {
	Measure string `json:"measure"`
	Name    string `json:"name"`
	Left    string `json:"left"`
	Right   string `json:"right"`
	More    string `json:"more"`
}

// heldAgainst lists the measures that either ball has, in the order of
// measure.Measures. Where several pictures were read, the surest value counts.
func heldAgainst(left, right tagging.Ball) []wireTwoMeasured {
	values := [2]map[string]measure.Value{}
	for side, b := range []tagging.Ball{left, right} {
		values[side] = map[string]measure.Value{}
		for _, m := range b.MeasuredOn(0) {
			_, values[side][m.Measure] = measure.Of(m.Measure, m.Value, m.Sigma, nil)
		}
	}
	rows := []wireTwoMeasured{}
	for _, m := range measure.Measures() {
		l, onLeft := values[0][m.Key]
		r, onRight := values[1][m.Key]
		row := wireTwoMeasured{Measure: m.Key, Name: m.Name}
		if onLeft {
			row.Left = l.String()
		}
		if onRight {
			row.Right = r.String()
		}
		if onLeft && onRight {
			row.More = r.Less(l).Signed()
		}
		if onLeft || onRight {
			rows = append(rows, row)
		}
	}
	return rows
}
