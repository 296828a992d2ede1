package main

import (
	"errors"
	"flag"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/fault"
)

func TestConfig(t *testing.T) {
	t.Parallel()
	standard := Config{Data: "data", Listen: "127.0.0.1:8044", PublicURL: "http://127.0.0.1:8044", MaxUpload: 64 << 30, Tools: 2}
	with := func(change func(*Config)) Config {
		c := standard
		change(&c)
		return c
	}
	cases := []struct {
		name string
		args []string
		env  map[string]string
		want Config
		bad  string // part of the message; "" when it is good
	}{
		{name: "nothing said", want: standard},
		{name: "a flag", args: []string{"--data", "/srv/x"}, want: with(func(c *Config) { c.Data = "/srv/x" })},
		{name: "the environment", env: map[string]string{"NETREEL_DATA": "/srv/y"}, want: with(func(c *Config) { c.Data = "/srv/y" })},
		{name: "a flag wins", args: []string{"--data=/srv/x"}, env: map[string]string{"NETREEL_DATA": "/srv/y"},
			want: with(func(c *Config) { c.Data = "/srv/x" })},
		{name: "a database", env: map[string]string{"DATABASE_URL": "postgres://db/netreel"},
			want: with(func(c *Config) { c.DatabaseURL = "postgres://db/netreel" })},
		{name: "everywhere", args: []string{"--listen", ":80"}, want: with(func(c *Config) {
			c.Listen, c.PublicURL = ":80", "http://localhost:80"
		})},
		{name: "any port", args: []string{"--listen", "127.0.0.1:0"}, want: with(func(c *Config) {
			c.Listen, c.PublicURL = "127.0.0.1:0", ""
		})},
		{name: "public address", args: []string{"--public-url", "https://nets.example/"}, want: with(func(c *Config) {
			c.PublicURL = "https://nets.example"
		})},
		{name: "proxies", args: []string{"--trusted-proxies", "10.1.2.3, 2001:db8::/32"}, want: with(func(c *Config) {
			c.TrustedProxies = []netip.Prefix{netip.MustParsePrefix("10.1.2.3/32"), netip.MustParsePrefix("2001:db8::/32")}
		})},
		{name: "a proxy by name", args: []string{"--trusted-proxies", "proxy.example"}, bad: "10.1.3.0/24"},
		{name: "no port", args: []string{"--listen", "nets"}, bad: "host:port"},
		{name: "no scheme", args: []string{"--public-url", "nets.example"}, bad: "http://"},
		{name: "no tools", args: []string{"--tools", "0"}, bad: "--tools"},
		{name: "unknown flag", args: []string{"--colour"}, bad: "colour"},
		{name: "bad variable", env: map[string]string{"NETREEL_TOOLS": "many"}, bad: "NETREEL_TOOLS"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			_, finish := newFlags("serve", func(k string) string { return c.env[k] }, t.Output())
			got, err := finish(c.args)
			if c.bad != "" {
				require.ErrorContains(t, err, c.bad)
				assert.Equal(t, fault.Invalid, fault.KindOf(err))
				return
			}
			require.NoError(t, err)
			assert.Equal(t, c.want, got)
		})
	}
}

func TestFlagsMayStandAnywhere(t *testing.T) {
	t.Parallel()
	fs := flag.NewFlagSet("import", flag.ContinueOnError)
	session := fs.Int("session", 0, "")
	require.NoError(t, parseMixed(fs, []string{"a.mp4", "--session", "3", "b.mp4"}))
	assert.Equal(t, 3, *session)
	assert.Equal(t, []string{"a.mp4", "b.mp4"}, fs.Args())
}

// TestFlagsArePrinted compares the README's table with the flags.
func TestFlagsArePrinted(t *testing.T) {
	t.Parallel()
	readme, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	require.NoError(t, err)
	fs, _ := newFlags("serve", func(string) string { return "" }, t.Output())
	fs.VisitAll(func(f *flag.Flag) {
		env, ok := flagEnv[f.Name]
		require.True(t, ok, "--%s has no environment variable", f.Name)
		assert.Contains(t, string(readme), "| `--"+f.Name+"` | `"+env+"` |")
	})
}

func TestRunSaysWhatThereIs(t *testing.T) {
	t.Parallel()
	var out, errs strings.Builder
	code := run(t.Context(), []string{"fly"}, func(string) string { return "" }, &out, &errs)
	assert.Equal(t, 2, code)
	for _, c := range commands() {
		assert.Contains(t, errs.String(), c.name)
	}
}

func TestOneServerOnADataFolder(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	first, err := takeFolder(dir)
	require.NoError(t, err)
	_, err = takeFolder(dir)
	require.True(t, errors.Is(err, errHeld), "%v", err)
	_, err = runningServer(dir)
	assert.Equal(t, fault.Unavailable, fault.KindOf(err), "it is still starting")

	note := holdNote{Database: "postgres:///netreel", Address: "https://nets.example"}
	require.NoError(t, first.announce(note))
	got, err := runningServer(dir)
	require.NoError(t, err)
	assert.Equal(t, note, got)

	require.NoError(t, first.release())
	second, err := takeFolder(dir)
	require.NoError(t, err)
	require.NoError(t, second.release())
}
