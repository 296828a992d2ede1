//go:build linux

package local

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"netreel/media/fault"
)

// pretend puts programs into a folder that say they are of a version.
func pretend(t *testing.T, dir, version string, programs ...string) {
	t.Helper()
	require.NoError(t, os.MkdirAll(dir, 0o700))
	for _, p := range programs {
		script := fmt.Sprintf("#!/bin/sh\necho '%s (PostgreSQL) %s'\n", p, version)
		require.NoError(t, os.WriteFile(filepath.Join(dir, p), []byte(script), 0o700))
	}
}

func TestFindInstall(t *testing.T) {
	for _, c := range []struct {
		name     string
		packaged []string // versions in the packages' folders
		inPath   string   // version in PATH
		major    int      // asked for
		want     int      // found
		kind     fault.Kind
		says     string
	}{
		{name: "the newest", packaged: []string{"9.6.24", "15.18", "17.2"}, want: 17},
		{name: "the one that the data is of", packaged: []string{"15.18", "17.2"}, major: 15, want: 15},
		{name: "one in PATH", inPath: "18beta1", want: 18},
		{name: "one in PATH beside a package", packaged: []string{"15.18"}, inPath: "16.1", major: 16, want: 16},
		{name: "none", kind: fault.Unavailable, says: "deploy/setup.sh"},
		{name: "too old", packaged: []string{"13.9"}, kind: fault.Unsupported, says: "version 14 or newer"},
		{name: "not the one that the data is of", packaged: []string{"15.18", "17.2"}, major: 14,
			kind: fault.Unsupported, says: "postgresql-14"},
	} {
		t.Run(c.name, func(t *testing.T) {
			root, path := t.TempDir(), t.TempDir()
			for _, v := range c.packaged {
				pretend(t, filepath.Join(root, v, "bin"), v, "postgres", "initdb")
			}
			if c.inPath != "" {
				pretend(t, path, c.inPath, "postgres", "initdb")
			}
			// Half an install, such as a client's package leaves, is none.
			pretend(t, filepath.Join(root, "99", "bin"), "99.1", "postgres")
			t.Setenv("PATH", path)
			got, err := findInstall(t.Context(), filepath.Join(root, "*", "bin"), c.major)
			if c.want == 0 {
				require.Equal(t, c.kind, fault.KindOf(err))
				require.Contains(t, fault.Message(err), c.says)
				return
			}
			require.NoError(t, err)
			require.Equal(t, c.want, got.major)
		})
	}
}

func TestFarewells(t *testing.T) {
	require.Equal(t, "map[7:interrupt]", fmt.Sprint(farewells([]int{7, 8, 9}, 7, false)), "the postmaster tells its own")
	require.Equal(t, "map[8:terminated 9:terminated]", fmt.Sprint(farewells([]int{8, 9}, 7, false)))
	require.Equal(t, "map[7:quit 8:quit]", fmt.Sprint(farewells([]int{7, 8}, 7, true)))
}
