package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"net"
	"net/netip"
	"net/url"
	"strings"

	"netreel/media/fault"
)

// Config is what the person who runs the server may choose.
type Config struct {
	Data        string // folder of everything that is kept
	Listen      string // host:port
	PublicURL   string // how people reach the server; "" when the system chooses the port: then New knows
	DatabaseURL string // "" for a private PostgreSQL under Data
	MaxUpload   int64  // bytes of one file
	Tools       int    // tools run at once

	TrustedProxies []netip.Prefix // on other machines: their word on where a request came from is taken
}

// flagEnv names the environment variable of each flag. A flag wins over its
// variable, and the variable over the default. The database's address has no
// flag, because it holds a password and a command line can be read by others.
var flagEnv = map[string]string{
	"data": "NETREEL_DATA", "listen": "NETREEL_LISTEN", "public-url": "NETREEL_PUBLIC_URL",
	"max-upload-gib": "NETREEL_MAX_UPLOAD_GIB", "tools": "NETREEL_TOOLS", "trusted-proxies": "NETREEL_TRUSTED_PROXIES",
}

// newFlags makes the flags that every command with a server in it has. The
// returned function finishes the Config after parsing.
func newFlags(name string, getenv func(string) string, out io.Writer) (*flag.FlagSet, func(args []string) (Config, error)) {
	fs := flag.NewFlagSet("netreel "+name, flag.ContinueOnError)
	fs.SetOutput(out)
	var c Config
	var gib int64
	var proxies string
	fs.StringVar(&c.Data, "data", "data", "`folder` of everything that is kept")
	fs.StringVar(&c.Listen, "listen", "127.0.0.1:8044", "`host:port` to listen on")
	fs.StringVar(&c.PublicURL, "public-url", "", "`address` by which people reach the server, as it stands in links")
	fs.Int64Var(&gib, "max-upload-gib", 64, "largest file taken, in `GiB`")
	fs.IntVar(&c.Tools, "tools", 2, "how many video tools run at once")
	fs.StringVar(&proxies, "trusted-proxies", "",
		"`addresses` or ranges, with commas between, of reverse proxies on other machines: they say where a request came from")
	fs.Usage = func() {
		fmt.Fprintf(out, "Use: netreel %s [flags]\n\n", name)
		fs.PrintDefaults()
		fmt.Fprintln(out, "\nEach flag may come from the environment: NETREEL_DATA, NETREEL_LISTEN and so on.")
		fmt.Fprintln(out, "DATABASE_URL names a PostgreSQL to use; without it netreel runs a private one under the data folder.")
	}
	return fs, func(args []string) (Config, error) {
		for name, env := range flagEnv {
			if v := getenv(env); v != "" {
				if err := fs.Set(name, v); err != nil {
					return Config{}, fault.New(fault.Invalid, "config", fmt.Sprintf("%s=%q is not a good value: %v", env, v, err))
				}
			}
		}
		if err := parseMixed(fs, args); err != nil {
			return Config{}, err
		}
		c.DatabaseURL = getenv("DATABASE_URL")
		c.MaxUpload = gib << 30
		var err error
		if c.TrustedProxies, err = parseRanges(proxies); err != nil {
			return Config{}, err
		}
		return c, c.check()
	}
}

func (c *Config) check() error {
	bad := func(format string, a ...any) error {
		return fault.New(fault.Invalid, "config", fmt.Sprintf(format, a...))
	}
	host, port, err := net.SplitHostPort(c.Listen)
	switch {
	case err != nil:
		return bad("--listen %q must be host:port, for example 127.0.0.1:8044", c.Listen)
	case c.Data == "":
		return bad("--data must name a folder")
	case c.MaxUpload <= 0:
		return bad("--max-upload-gib must be 1 or more")
	case c.Tools < 1 || c.Tools > 64:
		return bad("--tools must be 1 to 64")
	}
	if c.PublicURL == "" {
		if port == "0" {
			return nil
		}
		c.PublicURL = plainURL(host, port)
	}
	u, err := url.Parse(c.PublicURL)
	if err != nil || (u.Scheme != "http" && u.Scheme != "https") || u.Host == "" {
		return bad("--public-url %q must begin with http:// or https://", c.PublicURL)
	}
	c.PublicURL = strings.TrimSuffix(c.PublicURL, "/")
	return nil
}

// parseRanges reads "10.1.2.3, 10.1.3.0/24".
func parseRanges(list string) (ranges []netip.Prefix, err error) {
	for one := range strings.SplitSeq(list, ",") {
		if one = strings.TrimSpace(one); one == "" {
			continue
		}
		r, err := netip.ParsePrefix(one)
		if a, bad := netip.ParseAddr(one); bad == nil {
			r, err = a.Prefix(a.BitLen())
		}
		if err != nil {
			return nil, fault.New(fault.Invalid, "config",
				fmt.Sprintf("--trusted-proxies: %q must be an address or a range, for example 10.1.2.3 or 10.1.3.0/24", one))
		}
		ranges = append(ranges, r)
	}
	return ranges, nil
}

// plainURL is the address of a server that listens on a host and port.
func plainURL(host, port string) string {
	if host == "" || host == "0.0.0.0" || host == "::" {
		host = "localhost"
	}
	return "http://" + net.JoinHostPort(host, port)
}

// parseMixed parses flags that may stand before, between and after the other
// arguments, which are left in fs.Args.
func parseMixed(fs *flag.FlagSet, args []string) error {
	var others []string
	for {
		if err := fs.Parse(args); err != nil {
			if errors.Is(err, flag.ErrHelp) {
				return err
			}
			return fault.New(fault.Invalid, "config", err.Error())
		}
		if fs.NArg() == 0 {
			break
		}
		others = append(others, fs.Arg(0))
		args = fs.Args()[1:]
	}
	return fs.Parse(append([]string{"--"}, others...))
}
