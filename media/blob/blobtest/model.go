package blobtest

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/media/blob"
	"netreel/media/fault"
)

// isMap does random things to the store and to a map: they stay alike.
func isMap(t *testing.T, s blob.Store) {
	var round atomic.Int64
	rapid.Check(t, func(t *rapid.T) {
		m := &model{store: s, home: fmt.Sprintf("round%d/", round.Add(1)), want: map[string]string{}}
		t.Repeat(rapid.StateMachineActions(m))
	})
}

// model is a store and the map that it should be. It lives under a prefix of
// its own.
type model struct {
	store blob.Store
	home  string
	want  map[string]string
}

// key draws one of few keys. None lies below another: a folder store cannot
// keep both "a" and "a/b".
func (m *model) key(t *rapid.T) string {
	return m.home + rapid.SampledFrom([]string{"a", "b/c", "b/d", "b/e/f", "b-x", "z.mp4"}).Draw(t, "key")
}

func (m *model) Adopt(t *rapid.T) {
	key, data := m.key(t), rapid.StringN(0, 20, -1).Draw(t, "data")
	put(t, m.store, key, []byte(data))
	m.want[key] = data
}

func (m *model) Delete(t *rapid.T) {
	key := m.key(t)
	require.NoError(t, m.store.Delete(context.Background(), key))
	delete(m.want, key)
}

func (m *model) Open(t *rapid.T) {
	key := m.key(t)
	data, err := get(m.store, key)
	want, ok := m.want[key]
	if !ok {
		assert.Equal(t, fault.NotFound, fault.KindOf(err))
		return
	}
	require.NoError(t, err)
	assert.Equal(t, want, string(data))
}

func (m *model) Stat(t *rapid.T) {
	key := m.key(t)
	info, err := m.store.Stat(context.Background(), key)
	want, ok := m.want[key]
	if !ok {
		assert.Equal(t, fault.NotFound, fault.KindOf(err))
		return
	}
	require.NoError(t, err)
	assert.Equal(t, int64(len(want)), info.Size)
}

// Abandon leaves a staged file behind, as a crash does.
func (m *model) Abandon(t *rapid.T) { stage(t, m.store, "x", []byte("left")) }

// Check holds the list against the map after every step.
func (m *model) Check(t *rapid.T) {
	for _, prefix := range []string{"", "b", "b/", "b/e"} {
		var want []string
		for _, key := range slices.Sorted(maps.Keys(m.want)) {
			if strings.HasPrefix(key, m.home+prefix) {
				want = append(want, key)
			}
		}
		assert.Equal(t, want, names(t, m.store, m.home+prefix))
	}
}
