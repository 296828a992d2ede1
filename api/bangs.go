package api

import (
	"context"
	"fmt"
	"net/http"

	"github.com/labstack/echo/v4"

	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
)

// maxHearing is the longest stretch that is listened to at once; besideMoment
// is what a person hears on each side of a moment.
const (
	maxHearing   = 30 * 60 * media.Second
	besideMoment = media.Second / 2
)

// stretchInput is a stretch of a session's clock.
type stretchInput struct {
	ID     int64
	Within media.Span
}

func (in *stretchInput) bind(c echo.Context) error {
	var id byID
	if err := id.bind(c); err != nil {
		return err
	}
	from, err := queryInt(c.QueryParams(), "from_us", 0)
	if err != nil {
		return err
	}
	until, err := queryInt(c.QueryParams(), "until_us", from+int(maxHearing))
	if err != nil {
		return err
	}
	in.ID, in.Within = id.ID, media.Span{Start: media.Micros(from), End: media.Micros(until)}
	if n := in.Within.Length(); n <= 0 || n > maxHearing {
		return fault.New(fault.Invalid, "api.bangs", fmt.Sprintf("Ask for %d minutes at most, the end after the start.", maxHearing/media.Second/60),
			fault.Field{Name: "until_us", Reason: "must follow from_us by half an hour at most"})
	}
	return nil
}

// bangs are the sharp sounds of a stretch of the session, for a person to hear
// and to say which is the clap that the phone noted.
func (s *Server) bangs(ctx context.Context, v tagging.Viewer, in stretchInput) (wireBangs, error) {
	lane, err := s.store.Lane(ctx, v, in.ID)
	if err != nil {
		return wireBangs{}, err
	}
	h, ok := tagging.HearAround(lane.Recordings, in.Within)
	if !ok {
		return wireBangs{Bangs: []wireBang{}}, nil
	}
	found, err := s.ears.Bangs(ctx, h)
	return wireBangs{&h.Recording.ID, each(found, toBang)}, err
}

// soundAround sends what a recording heard around a time of its own clock. The
// film never changes, so neither does what is heard there.
func (s *Server) soundAround(c echo.Context) error {
	r, moment, err := s.recordingAt(c)
	if err != nil {
		return err
	}
	wave, err := s.ears.Wave(c.Request().Context(), tagging.Hearing{Recording: r, Within: media.Span{Start: max(0, moment-besideMoment), End: moment + besideMoment}})
	if err != nil {
		return err
	}
	c.Response().Header().Set(echo.HeaderCacheControl, cacheForEver)
	return c.Blob(http.StatusOK, "audio/wav", wave)
}

type wireBang struct {
	RecordingID int64        `json:"recording_id"`
	At          media.Micros `json:"at_us"`
	Own         media.Micros `json:"own_us"`
	Above       float64      `json:"above_db"`
	Clear       bool         `json:"clear"`
}

func toBang(b tagging.Bang) wireBang { return wireBang(b) }

type wireBangs struct {
	RecordingID *int64     `json:"recording_id"` // that was listened to; null where none heard any of it
	Bangs       []wireBang `json:"bangs"`
}
