package export_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/tagging"
	"netreel/tagging/export"
	"netreel/tagging/vocabulary"
)

var made = time.Date(2026, 1, 17, 18, 30, 0, 0, time.UTC)

// whole is a session with a ball on two recordings, coded, noted and drawn on,
// and one ball that no camera took.
func whole() export.Session {
	shot := term("shot", "Pull", at(13.5))
	shot.Term, shot.AccountID = "pull", 4
	bat := term("bat", "Narrow bat", nil)
	note := tagging.Observation{Kind: tagging.NoteKind, Body: "Head <outside>\nthe base", At: at(13), Until: at(14.5)}
	drawing := tagging.Observation{Kind: tagging.DrawingKind, At: at(13), RecordingID: 9,
		Drawing: &tagging.Drawing{Strokes: []tagging.Stroke{{Points: [][2]float64{{0.1, 0.2}, {0.3, 0.4}}}}}}
	b := ball(shot, bat, note, drawing)
	for i := range b.Seen {
		b.Seen[i].UUID, b.Seen[i].Made = uuid.UUID{15: byte(i + 1)}, made
	}
	b.ID, b.PlayerID, b.BlockID = 70, 3, 5
	b.Clips[0].RecordingID, b.Clips[0].Camera = 8, media.SideOn
	b.Clips = append(b.Clips, tagging.Clip{ID: 2, RecordingID: 9, Camera: media.BehindTheArm, Span: span(0, 4),
		Clock: media.Clock{Offset: 12 * media.Second}, Smooth: &tagging.ClipFile{Lead: media.Second / 10}})
	return export.Session{
		Session: tagging.Session{ID: 6, Title: "Winter nets", HeldOn: "2026-01-17", Players: []tagging.Player{{ID: 3, Name: "Asha"}}},
		Lane: tagging.Lane{
			Recordings: []tagging.Recording{{ID: 8, Camera: media.SideOn}, {ID: 9, Camera: media.BehindTheArm}},
			Blocks:     []tagging.Block{{ID: 5, Name: "Machine"}},
		},
		Balls: []tagging.Ball{b, {ID: 71, Number: 8, Span: span(20, 24), Seen: []tagging.Observation{term("shot", "Hook", at(21))}}},
		Words: vocabulary.Default(), Home: "https://nets.example",
	}
}

func TestSessionCues(t *testing.T) {
	t.Parallel()
	text := func(cues []export.Cue) (out []string) {
		for _, c := range cues {
			out = append(out, fmt.Sprintf("%.1f-%.1f %s", c.Span.Start.Seconds(), c.Span.End.Seconds(), strings.ReplaceAll(c.Text, "\n", "|")))
		}
		return out
	}
	assert.Equal(t, []string{
		"12.0-14.0 Ball 7", "12.0-14.0 Bat: Narrow bat", "13.0-14.5 Head <outside> the base", "13.5-15.5 Shot: Pull",
		"20.0-22.0 Ball 8", "21.0-23.0 Shot: Hook",
	}, text(whole().SessionCues()))
	assert.Equal(t, []string{
		"0.0-2.0 Ball 7", "0.0-2.0 Bat: Narrow bat", "1.0-2.5 Head <outside> the base", "1.5-3.5 Shot: Pull",
	}, text(whole().RecordingCues(9)))
	assert.Empty(t, whole().RecordingCues(100))
	for i, read := range readTracks(t, []string{
		webVTT(t, "Winter nets", whole().SessionCues()), webVTT(t, "Winter nets", whole().RecordingCues(9)),
	}) {
		assert.Empty(t, read.Errors, "as others read it")
		assert.Len(t, read.Cues, []int{6, 4}[i])
	}
	assert.Empty(t, export.Session{}.SessionCues())
}

func TestSessionPlaylistHidesNames(t *testing.T) {
	t.Parallel()
	s := whole()
	rows := func() [][]string {
		var b bytes.Buffer
		require.NoError(t, export.CSV(&b, s.Playlist(), s.Words))
		rows, err := csv.NewReader(bytes.NewReader(b.Bytes()[3:])).ReadAll()
		require.NoError(t, err)
		return rows
	}
	for _, cell := range slices.Concat(rows()...) {
		assert.NotContains(t, cell, "Asha")
	}
	assert.Equal(t, []string{"1", "2026-01-17", "Winter nets", "Machine", "Player 3", "7"}, rows()[1][:6])
	s.Names = true
	assert.Equal(t, "Asha", rows()[1][4])
	assert.Equal(t, "Asha", s.Balls[0].Seen[0].Coder, "the session itself is left alone")
}

// expand has an independent processor, jsonld.js in safe mode, expand JSON-LD.
func expand(t *testing.T, document []byte) (collection map[string]any, statements []string) {
	t.Helper()
	var got struct {
		Expanded   []map[string]any
		Statements []string
	}
	require.NoError(t, json.Unmarshal(check(t, "jsonld", "jsonld.mjs", document), &got))
	require.Len(t, got.Expanded, 1)
	return got.Expanded[0], got.Statements
}

// TestAnnotationsMeanWhatTheySay holds the export against the Web Annotation
// Data Model (W3C Recommendation, 23 February 2017) as an independent processor
// reads it: sections 3.1 (annotations), 3.2.4 (textual bodies), 4.2.1 and
// 4.2.7 (fragment and SVG selectors), 5 (collections).
func TestAnnotationsMeanWhatTheySay(t *testing.T) {
	t.Parallel()
	var b bytes.Buffer
	require.NoError(t, export.Annotations(&b, whole(), whole().Originals))
	assert.NotContains(t, b.String(), "Asha")
	collection, statements := expand(t, b.Bytes())
	const oa, as = "http://www.w3.org/ns/oa#", "http://www.w3.org/ns/activitystreams#"
	assert.Equal(t, []any{as + "OrderedCollection"}, collection["@type"])
	assert.Equal(t, 5., get(collection, as+"totalItems", 0, "@value"))
	items, ok := get(collection, as+"first", 0, as+"items", 0, "@list").([]any)
	require.True(t, ok)
	require.Len(t, items, 5)

	shot := items[0]
	assert.Equal(t, "urn:uuid:00000000-0000-0000-0000-000000000001", get(shot, "@id"))
	assert.Equal(t, oa+"Annotation", get(shot, "@type", 0))
	assert.Equal(t, oa+"tagging", get(shot, oa+"motivatedBy", 0, "@id"))
	assert.Equal(t, "shot:pull", get(shot, oa+"hasBody", 0, "http://www.w3.org/1999/02/22-rdf-syntax-ns#value", 0, "@value"))
	assert.Equal(t, "Shot: Pull", get(shot, oa+"hasBody", 1, "http://www.w3.org/1999/02/22-rdf-syntax-ns#value", 0, "@value"))
	assert.Equal(t, "2026-01-17T18:30:00Z", get(shot, "http://purl.org/dc/terms/created", 0, "@value"))
	assert.Equal(t, "Coder 4", get(shot, "http://purl.org/dc/terms/creator", 0, "http://xmlns.com/foaf/0.1/nick", 0, "@value"))
	assert.Equal(t, "https://nets.example/api/recordings/8/original", get(shot, oa+"hasTarget", 0, oa+"hasSource", 0, "@id"))
	assert.Equal(t, "https://nets.example/sessions/6/code/70", get(shot, oa+"hasTarget", 0, oa+"hasScope", 0, "@id"))
	assert.Equal(t, "http://www.w3.org/TR/media-frags/", get(shot, oa+"hasTarget", 0, oa+"hasSelector", 0, "http://purl.org/dc/terms/conformsTo", 0, "@id"))

	fragments := func(item any) (out []string) {
		targets, _ := get(item, oa+"hasTarget").([]any)
		for _, one := range targets {
			v, _ := get(one, oa+"hasSelector", 0, "http://www.w3.org/1999/02/22-rdf-syntax-ns#value", 0, "@value").(string)
			out = append(out, v)
		}
		return out
	}
	assert.Equal(t, []string{"t=11.500,11.501", "t=1.500,1.501"}, fragments(shot), "an instant on both recordings' clocks")
	assert.Equal(t, []string{"t=10.000,14.000", "t=0.000,4.000"}, fragments(items[1]), "of the ball as a whole")
	assert.Equal(t, []string{"t=11.000,12.500", "t=1.000,2.500"}, fragments(items[2]), "a span")
	assert.Equal(t, []string{"t=1.000,1.001"}, fragments(items[3]), "a drawing lies on one recording")
	assert.Contains(t, get(items[3], oa+"hasTarget", 0, oa+"hasSelector", 0, oa+"refinedBy", 0, "http://www.w3.org/1999/02/22-rdf-syntax-ns#value", 0, "@value"),
		`<polyline fill="none" points="0.1000,0.2000 0.3000,0.4000"/>`)
	assert.Equal(t, []string{""}, fragments(items[4]))
	assert.Equal(t, "https://nets.example/sessions/6/code/71", get(items[4], oa+"hasTarget", 0, oa+"hasSource", 0, "@id"), "no camera took it")
	assert.Equal(t, 5, strings.Count(strings.Join(statements, "\n"), "<http://www.w3.org/1999/02/22-rdf-syntax-ns#type> <"+oa+"Annotation>"))
}

// get walks into decoded JSON by keys and indexes; nil where it ends.
func get(v any, path ...any) any {
	for _, step := range path {
		switch step := step.(type) {
		case string:
			m, _ := v.(map[string]any)
			v = m[step]
		case int:
			l, _ := v.([]any)
			if step >= len(l) {
				return nil
			}
			v = l[step]
		}
	}
	return v
}

func TestAnnotationsOfNothingAndOfMuch(t *testing.T) {
	t.Parallel()
	var b bytes.Buffer
	require.NoError(t, export.Annotations(&b, export.Session{Home: "https://nets.example"}, export.Session{}.Originals))
	collection, _ := expand(t, b.Bytes())
	assert.Equal(t, 0., get(collection, "http://www.w3.org/ns/activitystreams#totalItems", 0, "@value"))

	many := whole()
	for range 10_000 {
		many.Balls = append(many.Balls, many.Balls[0])
	}
	b.Reset()
	require.NoError(t, export.Annotations(&b, many, many.Originals))
	assert.True(t, json.Valid(b.Bytes()))
}

func TestArchive(t *testing.T) {
	t.Parallel()
	open := func(c tagging.Clip, which string) (io.ReadCloser, error) {
		return io.NopCloser(strings.NewReader(fmt.Sprintf("film %d %s", c.ID, which))), nil
	}
	files := func(open export.OpenClip) map[string]string {
		t.Helper()
		var b bytes.Buffer
		require.NoError(t, export.Archive(&b, whole(), made, open))
		r, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
		require.NoError(t, err)
		out := map[string]string{}
		for _, f := range r.File {
			file, err := f.Open()
			require.NoError(t, err)
			content, err := io.ReadAll(file)
			require.NoError(t, err)
			out[f.Name] = string(content)
		}
		return out
	}
	got := files(open)
	names := []string{}
	for name := range got {
		names = append(names, name)
	}
	assert.ElementsMatch(t, []string{"readme.txt", "balls.csv", "annotations.jsonld", "captions/session.vtt",
		"captions/recording-8-side-on.vtt", "captions/recording-9-behind-the-arm.vtt", "clips/ball-007-behind-the-arm.mp4"}, names)
	assert.Equal(t, "film 2 smooth", got["clips/ball-007-behind-the-arm.mp4"])
	assert.Contains(t, got["captions/recording-9-behind-the-arm.vtt"], "00:00:01.500 --> 00:00:03.500\nShot: Pull")
	// The clip's file begins a tenth before its chosen start, the recording's zero.
	assert.Contains(t, got["annotations.jsonld"], `"source":"clips/ball-007-behind-the-arm.mp4"`)
	assert.Contains(t, got["annotations.jsonld"], `"value":"t=1.600,1.601"`)
	for name, content := range got {
		assert.NotContains(t, content, "Asha", name)
	}

	bare := files(nil)
	assert.NotContains(t, bare, "clips/ball-007-behind-the-arm.mp4")
	assert.NotContains(t, bare["annotations.jsonld"], `"source":"clips/`)

	gone := files(func(tagging.Clip, string) (io.ReadCloser, error) { return nil, errors.New("gone") })
	assert.Contains(t, gone["missing.txt"], "clips/ball-007-behind-the-arm.mp4")

	assert.ErrorContains(t, export.Archive(full{}, whole(), made, nil), "disk full")
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("disk full") }
