package api

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"netreel/media/fault"
	"netreel/tagging"
)

// maxBody is how many bytes of JSON a route takes. A save of observations may
// hold a whole hour of drawings that waited for the network.
const (
	maxBody        = 1 << 20
	maxObservation = 16 << 20
)

// binder reads a route's input from the request.
type binder interface {
	bind(c echo.Context) error
}

// handle makes a route of a function that knows nothing of HTTP: the input is
// bound, the function called for the viewer, its output sent as JSON.
func handle[In, Out any, P interface {
	*In
	binder
}](status int, fn func(context.Context, tagging.Viewer, In) (Out, error)) echo.HandlerFunc {
	return func(c echo.Context) error {
		var in In
		if err := P(&in).bind(c); err != nil {
			return err
		}
		ctx := c.Request().Context()
		out, err := fn(ctx, viewerOf(ctx), in)
		if err != nil {
			return err
		}
		return send(c, status, out)
	}
}

func send(c echo.Context, status int, out any) error {
	c.Response().Header().Set(echo.HeaderCacheControl, "no-store")
	if status == http.StatusNoContent {
		return c.NoContent(status)
	}
	return c.JSON(status, out)
}

// none is the input of a route that has none, and the output of one that
// answers 204.
type none struct{}

func (*none) bind(echo.Context) error { return nil }

// byID is the input of a route about one thing.
type byID struct{ ID int64 }

func (in *byID) bind(c echo.Context) (err error) {
	in.ID, err = strconv.ParseInt(c.Param("id"), 10, 64)
	return fault.Wrap(err, fault.NotFound, "api", "")
}

// create is the input of a route that takes a body.
type create[B any] struct{ Body B }

func (in *create[B]) bind(c echo.Context) error { return readJSON(c, maxBody, &in.Body) }

// change is the input of a route that takes a body about one thing.
type change[B any] struct {
	ID   int64
	Body B
}

func (in *change[B]) bind(c echo.Context) error {
	var id byID
	if err := id.bind(c); err != nil {
		return err
	}
	in.ID = id.ID
	return readJSON(c, maxBody, &in.Body)
}

// readJSON reads one JSON value and nothing else: no unknown field, no second
// value, no other type of body.
func readJSON(c echo.Context, limit int64, into any) error {
	r := c.Request()
	if t, _, err := mime.ParseMediaType(r.Header.Get(echo.HeaderContentType)); err != nil || t != echo.MIMEApplicationJSON {
		return fault.New(fault.Unsupported, "api.readJSON", "Send JSON, with the header Content-Type: application/json.")
	}
	body, err := io.ReadAll(http.MaxBytesReader(c.Response(), r.Body, limit))
	if err != nil {
		return jsonFault(err)
	}
	if string(bytes.TrimSpace(body)) == "null" {
		return jsonFault(errors.New("null")) // would pass for an empty list, and replace a full one
	}
	d := json.NewDecoder(bytes.NewReader(body))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return jsonFault(err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return jsonFault(errors.New("more than one value"))
	}
	return nil
}

// jsonFault says where a body is wrong.
func jsonFault(err error) error {
	const op = "api.readJSON"
	if e, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return fault.Wrap(err, fault.TooLarge, op, fmt.Sprintf("This is more than the %d kB that are taken here. Send it in parts.", e.Limit/1024))
	}
	if e, ok := errors.AsType[*json.UnmarshalTypeError](err); ok && e.Field != "" {
		return fault.New(fault.Invalid, op, "The JSON does not fit.", fault.Field{Name: e.Field, Reason: "can't be a " + e.Value})
	}
	if name, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		return fault.New(fault.Invalid, op, "The JSON does not fit.", fault.Field{Name: strings.Trim(name, `"`), Reason: "is not known here"})
	}
	return fault.Wrap(err, fault.Invalid, op, "The body is not the JSON that is described in /openapi.yaml.")
}

// queryInt reads a whole number from the address; without one it is the
// fallback.
func queryInt(q url.Values, name string, fallback int) (int, error) {
	if !q.Has(name) {
		return fallback, nil
	}
	n, err := strconv.Atoi(q.Get(name))
	if err != nil || n < 0 {
		return 0, fault.New(fault.Invalid, "api.query", name+" must be a whole number, 0 or more.",
			fault.Field{Name: name, Reason: "must be a whole number, 0 or more"})
	}
	return n, nil
}
