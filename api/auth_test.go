package api_test

import (
	"fmt"
	"log/slog"
	"net/http"
	"net/netip"
	"strings"
	"testing"
	"time"

	"github.com/alexedwards/argon2id"
	"github.com/alexedwards/scs/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/api"
)

var quiet = slog.New(slog.DiscardHandler)

func TestMain(m *testing.M) {
	api.CheapPasswords()
	m.Run()
}

const password = "front foot to the pitch"

// withPassword gives the coach an email and a password.
func (w *world) withPassword(email string) {
	w.t.Helper()
	w.coach.json(http.MethodPatch, fmt.Sprintf("/api/accounts/%d", w.ids.coachAccount), fmt.Sprintf(`{"name":"Meera","email":%q,"disabled":false}`, email)).is(200)
	w.coach.json(http.MethodPut, "/api/me/password", fmt.Sprintf(`{"password":%q}`, password)).is(204)
}

func (c caller) signIn(email, password string) answer {
	c.w.t.Helper()
	return c.post("/api/sign-in", fmt.Sprintf(`{"email":%q,"password":%q}`, email, password))
}

func cookieOf(a answer) *http.Cookie {
	for _, c := range (&http.Response{Header: a.header}).Cookies() {
		if strings.HasSuffix(c.Name, "netreel") {
			return c
		}
	}
	return nil
}

func TestSignIn(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	w.withPassword("meera@example.org")
	browser := w.caller("new browser")
	browser.get("/api/me").problem(401)
	a := browser.signIn(" Meera@Example.org ", password).is(200)
	assert.Equal(t, "coach", a.field("role"))
	assert.Equal(t, true, a.field("has_password"))
	cookie := cookieOf(a)
	require.NotNil(t, cookie)
	assert.True(t, cookie.HttpOnly)
	assert.Equal(t, http.SameSiteLaxMode, cookie.SameSite)
	assert.False(t, cookie.Secure, "the public address is http")
	assert.Equal(t, "/", cookie.Path)
	browser.get("/api/me").is(200)
	browser.do(http.MethodPost, "/api/sign-out", nil).is(204)
	browser.get("/api/me").problem(401)
	// The ended session's cookie is worth nothing to whoever kept it.
	w.caller("thief").get("/api/me", "Cookie", cookie.Name+"="+cookie.Value).problem(401)
}

// TestSecureCookie: behind https the cookie is bound to the host (RFC 6265bis,
// section 4.1.3.2, "__Host-").
func TestSecureCookie(t *testing.T) {
	t.Parallel()
	w := newWorld(t, func(c *api.Config) { c.Secure, c.PublicURL = true, "https://netreel.example" })
	a := w.caller("x").post("/api/links/"+w.link(w.ids.playerAccount), `{}`).is(200)
	cookie := cookieOf(a)
	require.NotNil(t, cookie)
	assert.Equal(t, "__Host-netreel", cookie.Name)
	assert.True(t, cookie.Secure)
	assert.Empty(t, cookie.Domain)
	assert.Equal(t, "max-age=31536000", a.header.Get("Strict-Transport-Security"))
}

// TestSessionIsRenewed: a token that somebody planted in the browser before is
// not the one of the signed-in session (session fixation).
func TestSessionIsRenewed(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	w.withPassword("meera@example.org")
	first := cookieOf(w.caller("a").signIn("meera@example.org", password).is(200))
	planted := w.caller("b").json(http.MethodPost, "/api/sign-in", fmt.Sprintf(`{"email":"meera@example.org","password":%q}`, password),
		"Cookie", first.Name+"="+first.Value).is(200)
	assert.NotEqual(t, first.Value, cookieOf(planted).Value)
	w.caller("c").get("/api/me", "Cookie", first.Name+"="+first.Value).problem(401)
	madeUp := w.caller("d").json(http.MethodPost, "/api/sign-in", fmt.Sprintf(`{"email":"meera@example.org","password":%q}`, password),
		"Cookie", first.Name+"=made-up").is(200)
	assert.NotEqual(t, "made-up", cookieOf(madeUp).Value)
}

// TestSessionIsProlonged: the cookie is renewed once a day, not on every
// request.
func TestSessionIsProlonged(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	fresh := cookieOf(w.caller("x").post("/api/links/"+w.link(w.ids.playerAccount), `{}`).is(200))
	cookie := []string{"Cookie", fresh.Name + "=" + fresh.Value}
	assert.Nil(t, cookieOf(w.nobody.get("/api/me", cookie...).is(200)))

	var data []byte
	ctx, pool := t.Context(), w.store.Pool()
	require.NoError(t, pool.QueryRow(ctx, `SELECT data FROM sessions WHERE token = $1`, fresh.Value).Scan(&data))
	_, values, err := scs.GobCodec{}.Decode(data)
	require.NoError(t, err)
	soon := time.Now().Add(api.SessionLife - 25*time.Hour)
	data, err = scs.GobCodec{}.Encode(soon, values)
	require.NoError(t, err)
	_, err = pool.Exec(ctx, `UPDATE sessions SET data = $2, expiry = $3 WHERE token = $1`, fresh.Value, data, soon)
	require.NoError(t, err)

	renewed := cookieOf(w.nobody.get("/api/me", cookie...).is(200))
	require.NotNil(t, renewed)
	assert.Equal(t, fresh.Value, renewed.Value)
	assert.InDelta(t, api.SessionLife.Seconds(), renewed.MaxAge, 60)
	assert.Nil(t, cookieOf(w.nobody.get("/api/me", cookie...).is(200)))
}

// TestRefusedSignInsLookAlike: neither the answer nor the work behind it tells
// whether there is such an account.
func TestRefusedSignInsLookAlike(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	w.withPassword("meera@example.org")
	w.coach.json(http.MethodPost, "/api/accounts", `{"name":"Noor","email":"noor@example.org","role":"analyst"}`).is(201)
	details := map[string]bool{}
	for _, email := range []string{"meera@example.org", "noor@example.org", "nobody@example.org", "", strings.Repeat("x", 5000)} {
		details[w.caller("x").signIn(email, "not the password").problem(401)] = true
	}
	assert.Len(t, details, 1)
	params, salt, key, err := argon2id.DecodeHash(api.Decoy)
	require.NoError(t, err)
	assert.Equal(t, api.PasswordCost, *params, "an account that is not there costs as much as one that is")
	assert.Len(t, salt, int(api.PasswordCost.SaltLength))
	assert.Len(t, key, int(api.PasswordCost.KeyLength))
}

func TestPasswordRules(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	for _, bad := range []string{"", "too short", strings.Repeat("x", 201)} {
		a := w.player.json(http.MethodPut, "/api/me/password", fmt.Sprintf(`{"password":%q}`, bad))
		a.problem(400)
		assert.Contains(t, string(a.body), `"field":"password"`)
	}
	// RFC 9106, section 4: the second recommended option.
	assert.Equal(t, argon2id.Params{Memory: 64 * 1024, Iterations: 3, Parallelism: 4, SaltLength: 16, KeyLength: 32}, api.PasswordCost)
	w.withPassword("meera@example.org")
	var hash string
	require.NoError(t, w.store.Pool().QueryRow(t.Context(), `SELECT password_hash FROM account WHERE id = $1`, w.ids.coachAccount).Scan(&hash))
	assert.True(t, strings.HasPrefix(hash, "$argon2id$v=19$"), hash)
	// NFC and NFD spellings of one password are one password.
	w.coach.json(http.MethodPut, "/api/me/password", `{"password":"caf\u00e9 caf\u00e9 caf\u00e9"}`).is(204)
	w.caller("x").post("/api/sign-in", `{"email":"meera@example.org","password":"cafe\u0301 cafe\u0301 cafe\u0301"}`).is(200)
}

func TestPasswordSignsOutElsewhere(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	phone := w.caller("phone").join(w.link(w.ids.coachAccount))
	phone.get("/api/me").is(200)
	w.coach.json(http.MethodPut, "/api/me/password", fmt.Sprintf(`{"password":%q}`, password)).is(204)
	phone.get("/api/me").problem(401)
	w.coach.get("/api/me").is(200)
	w.analyst.get("/api/me").is(200)
}

func TestDisabledAccountIsOutAtOnce(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	w.player.get("/api/sessions").is(200)
	path := fmt.Sprintf("/api/accounts/%d", w.ids.playerAccount)
	w.coach.json(http.MethodPatch, path, `{"name":"Asha","disabled":true}`).is(200)
	w.player.get("/api/sessions").problem(401)
	w.coach.json(http.MethodPatch, path, `{"name":"Asha","disabled":false}`).is(200)
}

func TestOneTimeLink(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	a := w.coach.json(http.MethodPost, "/api/accounts", `{"name":"Ines","email":"ines@example.org","role":"analyst"}`).is(201)
	link := a.field("link").(string)
	require.True(t, strings.HasPrefix(link, "http://netreel.example/join/"), link)
	path := "/api/links/" + strings.TrimPrefix(link, "http://netreel.example/join/")
	browser := w.caller("ines")
	for range 2 { // looking does not use it up
		assert.Equal(t, "Ines", browser.get(path).is(200).field("name"))
	}
	browser.post(path, `{"password":"short"}`).problem(400)
	browser.post(path, `{"squad":"Mine"}`).problem(403)
	browser.post(path, fmt.Sprintf(`{"password":%q}`, password)).is(200)
	browser.get("/api/me").is(200)
	w.caller("late").get(path).problem(404)
	w.caller("late").post(path, `{}`).problem(404)
	w.caller("again").signIn("ines@example.org", password).is(200)
}

func TestFirstCoachNamesThings(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	a := w.caller("x").post("/api/links/"+w.link(w.ids.coachAccount), `{"name":"Meera K","squad":"Riverside U19"}`).is(200)
	assert.Equal(t, "Meera K", a.field("name"))
	assert.Equal(t, "Riverside U19", a.field("squad"))
}

func TestSignInIsThrottled(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	w.withPassword("meera@example.org")
	now := time.Now()
	w.server.SetClock(func() time.Time { return now })
	for range api.TriesAtOnce {
		w.nobody.signIn("meera@example.org", "guess").problem(401)
	}
	a := w.nobody.signIn("meera@example.org", password)
	a.problem(http.StatusTooManyRequests)
	assert.Regexp(t, `^\d+$`, a.header.Get("Retry-After"))
	w.nobody.signIn("noor@example.org", "guess").problem(401) // another email from here may be tried
	elsewhere := w.nobody.json(http.MethodPost, "/api/sign-in", fmt.Sprintf(`{"email":"meera@example.org","password":%q}`, password), "X-Forwarded-For", "203.0.113.9")
	elsewhere.is(200) // and the same one from elsewhere: nobody is locked out by a stranger
	now = now.Add(api.TryEvery)
	w.nobody.signIn("meera@example.org", password).is(200)
}

// TestAddressBehindProxies: the limit goes by the address of who asks, not by
// that of a proxy whose word is taken.
func TestAddressBehindProxies(t *testing.T) {
	t.Parallel()
	near, far := netip.MustParsePrefix("10.1.2.0/24"), netip.MustParsePrefix("2001:db8::7/128")
	for _, c := range []struct {
		name, first, second string // where two people's requests came through, as X-Forwarded-For tells it
		apart               bool
	}{
		{"a proxy of ours", "203.0.113.9, 10.1.2.3", "203.0.113.10, 10.1.2.3", true},
		{"two in a row", "203.0.113.9, 2001:db8::7, 10.1.2.3", "203.0.113.10, 2001:db8::7, 10.1.2.9", true},
		{"a stranger's proxy", "203.0.113.9, 10.1.3.3", "203.0.113.10, 10.1.3.3", false},
		{"an address made up", "198.51.100.1, 203.0.113.9, 10.1.2.3", "198.51.100.2, 203.0.113.9, 10.1.2.3", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w := newWorld(t, func(cfg *api.Config) { cfg.TrustedProxies = []netip.Prefix{near, far} })
			now := time.Now()
			w.server.SetClock(func() time.Time { return now })
			try := func(from string) answer {
				return w.nobody.json(http.MethodPost, "/api/sign-in", `{"email":"meera@example.org","password":"guess"}`, "X-Forwarded-For", from)
			}
			for range api.TriesAtOnce {
				try(c.first).problem(401)
			}
			try(c.first).problem(http.StatusTooManyRequests)
			if c.apart {
				try(c.second).problem(401)
			} else {
				try(c.second).problem(http.StatusTooManyRequests)
			}
		})
	}
}

// TestOtherSitesMayNotWrite: a page of another origin can't act in a reader's
// name (Fetch standard's Sec-Fetch-Site; RFC 6454 Origin).
func TestOtherSitesMayNotWrite(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	body := `{"name":"Taken"}`
	for _, header := range [][]string{
		{"Sec-Fetch-Site", "cross-site"}, {"Sec-Fetch-Site", "same-site"}, {"Origin", "https://evil.example"}, {"Origin", "null"},
	} {
		w.coach.json(http.MethodPut, "/api/squad", body, header...).problem(403)
		w.coach.do(http.MethodDelete, fmt.Sprintf("/api/sessions/%d", w.ids.session), nil, header...).problem(403)
		w.coach.tus(http.MethodPost, "/api/uploads/", "", append(header, "Upload-Length", "1", "Upload-Metadata", metadata("a", w.ids.session))...).problem(403)
		w.coach.tus(http.MethodPost, "/api/uploads/"+w.ids.tusID, "", append(header, "X-HTTP-Method-Override", "DELETE")...).problem(403)
	}
	w.coach.json(http.MethodPut, "/api/squad", body, "Sec-Fetch-Site", "same-origin").is(204)
	w.coach.json(http.MethodPut, "/api/squad", body, "Origin", "http://netreel.example").is(204) // behind a proxy that changes the host
	// A form, which a browser sends across sites without asking, is not JSON.
	w.coach.do(http.MethodPut, "/api/squad", []byte(body), "Content-Type", "text/plain").problem(415)
}
