package api_test

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/api"
)

// TestEveryRouteIsDescribed compares the table with openapi.yaml, both ways.
func TestEveryRouteIsDescribed(t *testing.T) {
	t.Parallel()
	server, err := api.New(api.Config{PublicURL: "http://netreel.example", UploadDir: t.TempDir(), Log: quiet})
	require.NoError(t, err)
	var served, described []string
	for _, r := range server.Routes() {
		served = append(served, r.Method+" "+r.Path+" for "+r.Who)
	}
	for path, item := range document(t).Paths.Map() {
		for method, operation := range item.Operations() {
			described = append(described, fmt.Sprintf("%s %s for %v", method, path, operation.Extensions["x-who"]))
		}
	}
	assert.ElementsMatch(t, described, served)
}

// request is how a route is called in the table below.
type request struct {
	path, body string
	header     []string
	want       int
	strange    int // status for a stranger who may call the route; 0 for 404
}

// crease is a calibration by the four corners of the crease in a picture of
// 1280 x 720: a camera 8 m to the off side.
const crease = `{"at_us":0,"clicks":[
	{"mark":"bowling-leg","x":0.2902,"y":0.5765},{"mark":"bowling-off","x":0.1703,"y":0.6985},
	{"mark":"popping-leg","x":0.4000,"y":0.5765},{"mark":"popping-off","x":0.3313,"y":0.6985}]}`

// requests says how each route is called so that it succeeds.
func (w *world) requests() map[string]request {
	i := w.ids
	f := fmt.Sprintf
	tus := []string{"Tus-Resumable", "1.0.0"}
	ball := f(`{"balls":[{"start_us":40000000,"end_us":44000000,"state":"accepted"}]}`)
	return map[string]request{
		"GET /api/me":                                {path: "/api/me", want: 200},
		"POST /api/sign-in":                          {path: "/api/sign-in", body: `{"email":"nobody@example.org","password":"wrong"}`, want: 401},
		"POST /api/sign-out":                         {path: "/api/sign-out", want: 204},
		"PUT /api/me/password":                       {path: "/api/me/password", body: `{"password":"four plain words here"}`, want: 204},
		"GET /api/links/{secret}":                    {path: "/api/links/unknown", want: 404},
		"POST /api/links/{secret}":                   {path: "/api/links/unknown", body: `{}`, want: 404},
		"GET /api/accounts":                          {path: "/api/accounts", want: 200},
		"POST /api/accounts":                         {path: "/api/accounts", body: `{"name":"Ines","role":"analyst"}`, want: 201},
		"PATCH /api/accounts/{id}":                   {path: f("/api/accounts/%d", i.playerAccount), body: `{"name":"Asha R","disabled":false}`, want: 200},
		"POST /api/accounts/{id}/link":               {path: f("/api/accounts/%d/link", i.playerAccount), want: 201},
		"PUT /api/squad":                             {path: "/api/squad", body: `{"name":"Riverside women"}`, want: 204},
		"GET /api/players":                           {path: "/api/players", want: 200},
		"POST /api/players":                          {path: "/api/players", body: `{"name":"Gita","bats":"left","height_cm":171.5}`, want: 201},
		"PUT /api/players/{id}":                      {path: f("/api/players/%d", i.bela), body: `{"name":"Bela","bats":"left","retired":true}`, want: 200},
		"GET /api/vocabulary":                        {path: "/api/vocabulary?edition=1", want: 200},
		"PUT /api/vocabulary":                        {path: "/api/vocabulary", body: w.vocabulary(), want: 200},
		"GET /api/sessions":                          {path: "/api/sessions", want: 200},
		"POST /api/sessions":                         {path: "/api/sessions", body: `{"title":"Spring","held_on":"2026-03-01","focus":["shot"],"players":[]}`, want: 201},
		"GET /api/sessions/{id}":                     {path: f("/api/sessions/%d", i.session), want: 200},
		"PUT /api/sessions/{id}":                     {path: f("/api/sessions/%d", i.session), body: f(`{"title":"Winter","held_on":"2026-01-17","focus":["shot"],"players":[%d,%d]}`, i.asha, i.bela), want: 200, strange: 400},
		"DELETE /api/sessions/{id}":                  {path: f("/api/sessions/%d", i.otherSession), want: 204},
		"PUT /api/sessions/{id}/blocks":              {path: f("/api/sessions/%d/blocks", i.session), body: `[{"id":0,"name":"Machine","start_us":0,"end_us":30000000,"feed":"machine","aim":24}]`, want: 200},
		"GET /api/sessions/{id}/lane":                {path: f("/api/sessions/%d/lane", i.session), want: 200},
		"POST /api/sessions/{id}/lane-edits":         {path: f("/api/sessions/%d/lane-edits", i.session), body: ball, want: 200},
		"GET /api/sessions/{id}/uploads":             {path: f("/api/sessions/%d/uploads", i.session), want: 200},
		"GET /api/sessions/{id}/balls":               {path: f("/api/sessions/%d/balls", i.session), want: 200},
		"OPTIONS /api/uploads/":                      {path: "/api/uploads/", want: 200},
		"POST /api/uploads/":                         {path: "/api/uploads/", header: append(tus, "Upload-Length", "3", "Upload-Metadata", metadata("a.mp4", i.session)), want: 201},
		"HEAD /api/uploads/{tus_id}":                 {path: "/api/uploads/" + i.tusID, header: tus, want: 200},
		"PATCH /api/uploads/{tus_id}":                {path: "/api/uploads/" + i.tusID, body: "abc", header: append(tus, "Content-Type", "application/offset+octet-stream", "Upload-Offset", "0"), want: 204},
		"DELETE /api/uploads/{tus_id}":               {path: "/api/uploads/" + i.tusID, header: tus, want: 204},
		"DELETE /api/uploads/rows/{id}":              {path: f("/api/uploads/rows/%d", i.uploadRow), want: 204},
		"GET /api/recordings/{id}":                   {path: f("/api/recordings/%d", i.recording), want: 200},
		"PATCH /api/recordings/{id}":                 {path: f("/api/recordings/%d", i.recording), body: `{"title":"Side on"}`, want: 200},
		"DELETE /api/recordings/{id}":                {path: f("/api/recordings/%d", i.spare), want: 204},
		"POST /api/recordings/{id}/retry":            {path: f("/api/recordings/%d/retry", i.spare), want: 200},
		"POST /api/recordings/{id}/cancel":           {path: f("/api/recordings/%d/cancel", i.spare), want: 200},
		"POST /api/recordings/{id}/split":            {path: f("/api/recordings/%d/split", i.recording), want: 200},
		"POST /api/recordings/{id}/align":            {path: f("/api/recordings/%d/align", i.recording), want: 200},
		"POST /api/sessions/{id}/align":              {path: f("/api/sessions/%d/align", i.session), want: 409},
		"PUT /api/sessions/{id}/cut":                 {path: f("/api/sessions/%d/cut", i.session), body: `{"cut":0.3}`, want: 204},
		"GET /api/recordings/{id}/traces":            {path: f("/api/recordings/%d/traces", i.recording), want: 200},
		"GET /api/recordings/{id}/original":          {path: f("/api/recordings/%d/original", i.recording), want: 200},
		"GET /api/recordings/{id}/still":             {path: f("/api/recordings/%d/still?at_us=1000000", i.recording), want: 200},
		"GET /api/recordings/{id}/sound.wav":         {path: f("/api/recordings/%d/sound.wav?at_us=1000000", i.recording), want: 200},
		"GET /api/recordings/{id}/calibration":       {path: f("/api/recordings/%d/calibration", i.recording), want: 200},
		"PUT /api/recordings/{id}/calibration":       {path: f("/api/recordings/%d/calibration", i.recording), body: crease, want: 200},
		"POST /api/recordings/{id}/calibration/try":  {path: f("/api/recordings/%d/calibration/try", i.recording), body: crease, want: 200},
		"GET /api/measures":                          {path: "/api/measures", want: 200},
		"POST /api/readings/try":                     {path: "/api/readings/try", body: w.reading("accepted"), want: 200},
		"POST /api/readings":                         {path: "/api/readings", body: w.reading("accepted"), want: 200},
		"POST /api/readings/{id}/verdict":            {path: f("/api/readings/%d/verdict", i.reading), body: `{"status":"accepted"}`, want: 200},
		"GET /api/balls/{id}/readings":               {path: f("/api/balls/%d/readings", i.ball), want: 200},
		"GET /api/sessions/{id}/readings":            {path: f("/api/sessions/%d/readings", i.session), want: 200},
		"GET /api/players/{id}/measures":             {path: f("/api/players/%d/measures", i.asha), want: 200},
		"PUT /api/players/{id}/yardsticks":           {path: f("/api/players/%d/yardsticks", i.asha), body: `{"narrow_below_cm":40,"wide_from_cm":75}`, want: 204},
		"GET /api/balls/{id}":                        {path: f("/api/balls/%d", i.ball), want: 200},
		"GET /api/balls/{id}/ledger":                 {path: f("/api/balls/%d/ledger", i.ball), want: 200},
		"POST /api/observations":                     {path: "/api/observations", body: f(`[{"uuid":%q,"ball_id":%d,"kind":"term","group":"feet","term":"back"}]`, uuid.New(), i.ball), want: 200},
		"GET /api/find":                              {path: "/api/find?shot=pull&limit=5", want: 200},
		"GET /api/side-by-side":                      {path: f("/api/side-by-side?left=%d&right=%d", i.ball, i.ball), want: 200},
		"GET /api/sessions/{id}/lookback":            {path: f("/api/sessions/%d/lookback?player=%d&coder=0", i.session, i.asha), want: 200},
		"GET /api/compare":                           {path: "/api/compare?left=shot%3Dpull&right=not.shot%3Dpull&outcome=control-faced&outcome=feet%3Dback&left_name=with+the+pull", want: 200},
		"GET /api/players/{id}/progress":             {path: f("/api/players/%d/progress?outcome=effective", i.asha), want: 200},
		"GET /api/players/{id}/rules":                {path: f("/api/players/%d/rules", i.asha), want: 200},
		"PUT /api/players/{id}/rules":                {path: f("/api/players/%d/rules", i.asha), body: `{"revision":0,"rules":[{"heights":["head"],"lines":[],"lengths":[],"want":"let-go"}]}`, want: 200},
		"GET /api/felt":                              {path: f("/api/felt?ball=%d", i.ball), want: 200},
		"POST /api/felt":                             {path: "/api/felt", body: f(`{"uuid":%q,"ball_id":%d,"words":["strong"]}`, uuid.New(), i.ball), want: 204},
		"GET /api/clips/{id}/video":                  {path: f("/api/clips/%d/video", i.clip), want: 200},
		"GET /api/clips/{id}/poster":                 {path: f("/api/clips/%d/poster", i.clip), want: 200},
		"POST /api/clips/{id}/want":                  {path: f("/api/clips/%d/want", i.clip), want: 204},
		"GET /api/reels":                             {path: "/api/reels", want: 200},
		"POST /api/reels":                            {path: "/api/reels", body: `{"title":"Cuts","question":"shot=cut"}`, want: 201},
		"GET /api/reels/{id}":                        {path: f("/api/reels/%d", i.reel), want: 200},
		"PUT /api/reels/{id}":                        {path: f("/api/reels/%d", i.reel), body: f(`{"title":"Pulls","revision":1,"players":[%d],"balls":[{"ball_id":%d,"title":"","note":""}]}`, i.asha, i.ball), want: 200, strange: 400},
		"DELETE /api/reels/{id}":                     {path: f("/api/reels/%d", i.reel), want: 204},
		"GET /api/reels/{id}/playlist":               {path: f("/api/reels/%d/playlist", i.reel), want: 200},
		"GET /api/reels/{id}/captions.vtt":           {path: f("/api/reels/%d/captions.vtt", i.reel), want: 200},
		"GET /api/reels/{id}/balls.csv":              {path: f("/api/reels/%d/balls.csv", i.reel), want: 200},
		"GET /api/reels/{id}/shares":                 {path: f("/api/reels/%d/shares", i.reel), want: 200},
		"POST /api/reels/{id}/shares":                {path: f("/api/reels/%d/shares", i.reel), body: `{"days":14}`, want: 201},
		"DELETE /api/shares/{id}":                    {path: f("/api/shares/%d", i.share), want: 204},
		"GET /api/reels/{id}/exports":                {path: f("/api/reels/%d/exports", i.reel), want: 200},
		"POST /api/reels/{id}/exports":               {path: f("/api/reels/%d/exports", i.reel), body: `{"burn":true}`, want: 201},
		"POST /api/exports/{id}/cancel":              {path: f("/api/exports/%d/cancel", i.waiting), want: 204},
		"GET /api/exports/{id}/film":                 {path: f("/api/exports/%d/film", i.export), want: 200},
		"GET /api/exports/{id}/captions.vtt":         {path: f("/api/exports/%d/captions.vtt", i.export), want: 200},
		"GET /api/shared/{secret}":                   {path: "/api/shared/" + i.secret, want: 200},
		"GET /api/shared/{secret}/clips/{id}/video":  {path: f("/api/shared/%s/clips/%d/video", i.secret, i.clip), want: 200},
		"GET /api/shared/{secret}/clips/{id}/poster": {path: f("/api/shared/%s/clips/%d/poster", i.secret, i.clip), want: 200},
		"GET /api/shared/{secret}/captions.vtt":      {path: f("/api/shared/%s/captions.vtt", i.secret), want: 200},
		"GET /api/plans":                             {path: "/api/plans", want: 200},
		"POST /api/plans":                            {path: "/api/plans", body: planBody(0), want: 201},
		"POST /api/plans/draw":                       {path: "/api/plans/draw", body: planBlock, want: 200},
		"GET /api/plans/{id}":                        {path: f("/api/plans/%d", i.plan), want: 200},
		"PUT /api/plans/{id}":                        {path: f("/api/plans/%d", i.plan), body: planBody(1), want: 200},
		"DELETE /api/plans/{id}":                     {path: f("/api/plans/%d", i.plan), want: 204},
		"POST /api/plans/{id}/session":               {path: f("/api/plans/%d/session", i.plan), body: `{"held_on":"2026-01-24"}`, want: 201},
		"GET /api/players/{id}/cells":                {path: f("/api/players/%d/cells?group=length&term=good&term=short", i.asha), want: 200},
		"GET /api/sessions/{id}/proposals":           {path: f("/api/sessions/%d/proposals", i.session), want: 200},
		"GET /api/load":                              {path: "/api/load?from=2026-01-01&to=2026-01-31", want: 200},
		"GET /api/load.csv":                          {path: "/api/load.csv?from=2026-01-01&to=2026-01-31&doing=facing", want: 200},
		"PUT /api/load/limits":                       {path: "/api/load/limits", body: `[{"doing":"feeding","days":7,"balls":75,"words":"Our board"}]`, want: 200},
		"GET /api/clock":                             {path: "/api/clock", want: 200},
		"POST /api/net":                              {path: "/api/net", body: f(`{"session_id":%d,"marks":[{"uuid":%q,"kind":"look","made_ms":1768644000000}]}`, i.session, uuid.New()), want: 200},
		"GET /api/sessions/{id}/net":                 {path: f("/api/sessions/%d/net", i.session), want: 200},
		"GET /api/sessions/{id}/bangs":               {path: f("/api/sessions/%d/bangs?from_us=1000000&until_us=41000000", i.session), want: 200},
		"PUT /api/sessions/{id}/net-clock":           {path: f("/api/sessions/%d/net-clock", i.session), body: `{"zero_at":"2026-01-17T10:00:00Z","by":"hand"}`, want: 200},
		"POST /api/sessions/{id}/net-blocks":         {path: f("/api/sessions/%d/net-blocks", i.session), want: 200},
		"GET /healthz":                               {path: "/healthz", want: 200},
		"GET /openapi.yaml":                          {path: "/openapi.yaml", want: 200},

		"GET /api/sessions/{id}/second-looks":  {path: f("/api/sessions/%d/second-looks", i.session), want: 200},
		"POST /api/sessions/{id}/second-looks": {path: f("/api/sessions/%d/second-looks", i.session), body: f(`{"first_id":%d,"second_id":%d,"groups":["shot"],"spread":"shot","balls":1}`, i.coachAccount, i.coachAccount), want: 201},
		"GET /api/second-looks/{id}":           {path: f("/api/second-looks/%d", i.look), want: 200},
		"DELETE /api/second-looks/{id}":        {path: f("/api/second-looks/%d", i.look), want: 204},
		"POST /api/second-looks/{id}/balls":    {path: f("/api/second-looks/%d/balls", i.openLook), body: f(`{"ball_id":%d,"seen":{"shot":["pull"]}}`, i.ball), want: 204},
		"POST /api/second-looks/{id}/finish":   {path: f("/api/second-looks/%d/finish", i.openLook), want: 204},
		"GET /api/second-looks/{id}/agreement": {path: f("/api/second-looks/%d/agreement", i.look), want: 200},
		"GET /api/agreement":                   {path: "/api/agreement", want: 200},
		"PUT /api/agreement":                   {path: "/api/agreement", body: `{"floor":0.7}`, want: 204},

		"GET /api/sessions/{id}/report.pdf":                {path: f("/api/sessions/%d/report.pdf", i.session), want: 200},
		"GET /api/sessions/{id}/export/balls.csv":          {path: f("/api/sessions/%d/export/balls.csv", i.session), want: 200},
		"GET /api/sessions/{id}/export/annotations.jsonld": {path: f("/api/sessions/%d/export/annotations.jsonld?names=true", i.session), want: 200},
		"GET /api/sessions/{id}/export/captions.vtt":       {path: f("/api/sessions/%d/export/captions.vtt", i.session), want: 200},
		"GET /api/sessions/{id}/export/archive.zip":        {path: f("/api/sessions/%d/export/archive.zip?clips=true", i.session), want: 200},
	}
}

// planBlock is a block of a plan as the page sends it.
const planBlock = `{"name":"Mixed","feed":"side-arm","pace_s":20,"order":"random","alike":2,"seed":7,
	"types":[{"name":"Good","length":"good","balls":4},{"name":"At the chest","length":"short","height":"chest","balls":2}]}`

func planBody(revision int) string {
	return fmt.Sprintf(`{"title":"Short ball","minutes":30,"work_on":["shot=pull"],"revision":%d,"blocks":[%s]}`, revision, planBlock)
}

// reading is a knee on the first ball's contact frame, which needs no
// calibration.
func (w *world) reading(status string) string {
	return fmt.Sprintf(`{"uuid":%q,"ball_id":%d,"recording_id":%d,"status":%q,"sights":{"contact":{"at_us":6000000,"points":{
		"front-hip":{"x":0.5,"y":0.4},"front-knee":{"x":0.52,"y":0.5},"front-ankle":{"x":0.51,"y":0.6}}}}}`,
		uuid.New(), w.ids.ball, w.ids.recording, status)
}

// ordered is the table in an order in which every route can still succeed:
// what removes things comes last, signing out at the very end.
func ordered(routes []api.Route) []api.Route {
	late := func(r api.Route) int {
		switch {
		case r.Path == "/api/sign-out":
			return 3
		case r.Path == "/api/uploads/rows/{id}", r.Path == "/api/reels/{id}" && r.Method == http.MethodDelete:
			return 2
		case r.Method == http.MethodDelete:
			return 1
		}
		return 0
	}
	slices.SortStableFunc(routes, func(a, b api.Route) int { return late(a) - late(b) })
	return routes
}

// TestEveryRouteForEveryRole calls every route in every role. Who is admitted
// succeeds; who is not is told so; and a stranger's account, whatever its role,
// never finds a thing of the squad.
func TestEveryRouteForEveryRole(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		name     string
		who      func(*world) caller
		admitted []string
		stranger bool
	}{
		{"nobody", func(w *world) caller { return w.nobody }, []string{"public"}, false},
		{"player", func(w *world) caller { return w.player }, []string{"public", "any"}, false},
		{"analyst", func(w *world) caller { return w.analyst }, []string{"public", "any", "staff"}, false},
		{"coach", func(w *world) caller { return w.coach }, []string{"public", "any", "staff", "coach"}, false},
		{"player of another squad", func(w *world) caller { return w.strangerPlayer }, []string{"public", "any"}, true},
		{"coach of another squad", func(w *world) caller { return w.strangerCoach }, []string{"public", "any", "staff", "coach"}, true},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			w := newWorld(t).fill()
			requests := w.requests()
			for _, r := range ordered(w.server.Routes()) {
				if r.Path == "/api/events" {
					continue // never ends; see events_test.go
				}
				call, known := requests[r.Method+" "+r.Path]
				require.True(t, known, "say in requests how %s %s is called", r.Method, r.Path)
				header := call.header
				if header == nil && call.body != "" {
					header = []string{"Content-Type", "application/json"}
				}
				got := tc.who(w).do(r.Method, call.path, []byte(call.body), header...)
				want := call.want
				switch {
				case tc.name == "nobody" && r.Who != "public":
					want = http.StatusUnauthorized
				case !slices.Contains(tc.admitted, r.Who):
					want = http.StatusForbidden
				case tc.name == "analyst" && r.Path == "/api/uploads/{tus_id}":
					want = http.StatusNotFound // the coach's own
				case tc.name == "analyst" && r.Method == http.MethodPost && strings.HasPrefix(r.Path, "/api/second-looks/"):
					want = http.StatusForbidden // the coach looks a second time
				case tc.stranger && r.Who != "public" && aboutAThing(r, call):
					want = cmp.Or(call.strange, http.StatusNotFound)
				}
				assert.Equal(t, want, got.status, "%s: %s", got.what, got.body)
				if tc.stranger && r.Who != "public" {
					for _, theirs := range []string{"Winter nets", "Asha", "Pulls", "Hands early", "side.mp4", "Back foot plan"} {
						assert.NotContains(t, string(got.body), theirs, got.what)
					}
				}
			}
		})
	}
}

// aboutAThing says whether a call names something of the squad.
func aboutAThing(r api.Route, call request) bool {
	return strings.Contains(r.Path, "{") || r.Path == "/api/observations" || r.Path == "/api/net" || strings.HasPrefix(r.Path, "/api/readings") || r.Path == "/api/side-by-side" ||
		r.Method == http.MethodPost && (r.Path == "/api/uploads/" || r.Path == "/api/felt")
}
