package dbtest

import (
	"fmt"
	"log/slog"
	"net/url"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"netreel/db/local"
)

func TestTidyKeepsTheNewest(t *testing.T) {
	t.Parallel()
	running, err := local.StartForTests(t.Context(), t.TempDir(), slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, running.Close()) })
	u, err := url.Parse(running.URL())
	require.NoError(t, err)
	s := &server{admin: *u, template: templatePrefix + "now"}
	for _, sql := range []string{
		`CREATE DATABASE ` + templatePrefix + `now IS_TEMPLATE true`,
		`CREATE DATABASE ` + templatePrefix + `old IS_TEMPLATE true`,
		`CREATE DATABASE ` + templatePrefix + `cut`,
	} {
		require.NoError(t, s.exec(t.Context(), sql))
	}
	for n := range 4 {
		require.NoError(t, s.exec(t.Context(), fmt.Sprintf(`CREATE DATABASE %s%02d TEMPLATE template0`, testPrefix, n)))
	}
	require.NoError(t, s.tidy(t.Context(), 2))
	conn := connect(t, running.URL())
	tests, err := databases(t.Context(), conn, testPrefix)
	require.NoError(t, err)
	require.Len(t, tests, 2)
	require.Equal(t, testPrefix+"02", tests[len(tests)-1])
	templates, err := databases(t.Context(), conn, templatePrefix)
	require.NoError(t, err)
	require.Equal(t, []string{templatePrefix + "now"}, templates)
}

func TestPlaceIsEmptiedAfterTheMachineStarted(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "1")
	filled := filepath.Join(dir, "data")
	require.NoError(t, forThisBoot(dir), "a new place")
	require.NoError(t, os.WriteFile(filled, nil, 0o600))
	require.NoError(t, forThisBoot(dir))
	require.FileExists(t, filled)
	require.NoError(t, os.WriteFile(filepath.Join(dir, stampName), []byte("another start"), 0o600))
	require.NoError(t, forThisBoot(dir))
	require.NoFileExists(t, filled)
}
