package api_test

import (
	"errors"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/api"
	"netreel/media/fault"
	"netreel/tagging"
)

func TestEveryKindOfFaultHasAStatus(t *testing.T) {
	t.Parallel()
	for _, k := range fault.Kinds() {
		_, ok := api.StatusOf(k)
		assert.True(t, ok, "answers lacks %s", k)
	}
}

// failing is a store that fails in the way it is told.
type failing struct {
	api.Store
	err error
}

func (f failing) PeekLink(ctx ctx, secret string) (tagging.Account, error) {
	if secret != "abc" {
		return f.Store.PeekLink(ctx, secret)
	}
	if f.err == nil {
		panic("boom")
	}
	return tagging.Account{}, f.err
}

// TestProblems: RFC 9457, section 3.1, the members of a problem.
func TestProblems(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		name   string
		err    error
		status int
		detail string
	}{
		{"a fault's words reach the person", fault.New(fault.Conflict, "db.X", "Somebody was faster."), 409, "Somebody was faster."},
		{"but not its cause", fault.Wrap(errors.New("pq: secret"), fault.Unavailable, "db.X", ""), 503, ""},
		{"nor a stranger's error", errors.New("secret"), 500, ""},
		{"nor a panic", nil, 500, ""},
		{"wrapped", fmt.Errorf("outer secret: %w", fault.New(fault.TooLarge, "x", "Too big.")), 413, "Too big."},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			w := newWorld(t, func(c *api.Config) { c.Store = failing{c.Store, tc.err} })
			a := w.caller("x").get("/api/links/abc")
			detail := a.problem(tc.status)
			if tc.detail != "" {
				assert.Equal(t, tc.detail, detail)
			}
			assert.NotContains(t, string(a.body), "secret")
			assert.NotContains(t, string(a.body), "boom")
			assert.Equal(t, "/api/links/abc", a.field("instance"))
			assert.Equal(t, a.header.Get("X-Request-Id"), a.field("request_id"))
			assert.True(t, strings.HasPrefix(a.field("type").(string), "/problems/"))
			assert.NotEmpty(t, a.field("title"))
			assert.Equal(t, "no-store", a.header.Get("Cache-Control"))
		})
	}
}

func TestProtocolRefusals(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	a := w.nobody.get("/api/me")
	a.problem(401)
	assert.NotEmpty(t, a.header.Get("WWW-Authenticate"), "RFC 9110, section 15.5.2")
	w.coach.get("/api/nothing").problem(404)
	w.coach.post("/api/nothing", `{}`).problem(404)
	w.coach.get("/api").problem(404)
	a = w.coach.do(http.MethodDelete, "/api/me", nil)
	a.problem(405)
	assert.Contains(t, a.header.Get("Allow"), "GET", "RFC 9110, section 15.5.6")
	assert.Equal(t, "about:blank", a.field("type"), "RFC 9457, section 4.2.1")
	w.coach.get("/api/sessions/9999999999999999999999").problem(404)
}

func TestBodiesAreReadStrictly(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	players := "/api/players"
	for _, tc := range []struct {
		name, body string
		status     int
		field      string
	}{
		{"not JSON", `name=x`, 400, ""},
		{"nothing", ``, 400, ""},
		{"null", ` null `, 400, ""},
		{"an unknown field", `{"name":"A","bats":"left","admin":true}`, 400, "admin"},
		{"another type", `{"name":7,"bats":"left"}`, 400, "name"},
		{"two values", `{"name":"A","bats":"left"}{}`, 400, ""},
		{"too much", `{"name":"` + strings.Repeat("x", 1<<20) + `","bats":"left"}`, 413, ""},
	} {
		a := w.coach.post(players, tc.body)
		a.problem(tc.status)
		if tc.field != "" {
			assert.Contains(t, string(a.body), fmt.Sprintf(`"field":%q`, tc.field), tc.name)
		}
	}
	// An hour of drawings that waited for the network is more than a form.
	var strokes []string
	for range 700 {
		strokes = append(strokes, `{"straight":false,"tone":0,"points":[`+strings.Repeat(`{"x":0.123456789,"y":0.987654321},`, 60)+`{"x":0,"y":0}]}`)
	}
	big := `[{"uuid":"6ba7b810-9dad-11d1-80b4-00c04fd430c8","ball_id":1,"kind":"drawing","at_us":1,"drawing":{"strokes":[` + strings.Join(strokes, ",") + `]}}]`
	require.Greater(t, len(big), 1<<20)
	w.coach.post("/api/observations", big).problem(400) // read, and refused for its strokes
	w.coach.do(http.MethodPut, fmt.Sprintf("/api/sessions/%d/blocks", w.ids.session), []byte(`null`), "Content-Type", "application/json").problem(400)
}

// TestFieldsOfAFault: the page puts each reason beside its field.
func TestFieldsOfAFault(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	a := w.coach.json(http.MethodPut, "/api/vocabulary", `{"number":1,"groups":[{"key":"Shot","name":"","press":"","many":false,"ordered":false,"retired":false,"terms":[]}]}`)
	a.problem(400)
	assert.Contains(t, string(a.body), `"field":"groups.0.key"`)
	assert.Contains(t, string(a.body), `"field":"groups.0.name"`)
}

func TestHealthTellsOfTheDatabase(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	w.nobody.get("/healthz").is(200)
	w.store.Close()
	w.nobody.get("/healthz").problem(503)
}
