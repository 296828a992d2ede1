package local

import (
	"cmp"
	"context"
	"fmt"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"netreel/media/fault"
)

// oldestMajor is the oldest PostgreSQL that the job queue works on.
const oldestMajor = 14

// install is one installed PostgreSQL server.
type install struct {
	dir   string // where initdb and postgres are
	major int
}

// packaged is where Debian and Ubuntu keep the servers, one folder a version,
// none of them in PATH.
const packaged = "/usr/lib/postgresql/*/bin"

// findInstall finds a PostgreSQL server: of the given major version, or with 0
// the newest there is.
func findInstall(ctx context.Context, pattern string, major int) (install, error) {
	all := installs(ctx, pattern)
	if ctx.Err() != nil {
		return install{}, fault.Wrap(context.Cause(ctx), fault.Unavailable, "", "stopped while looking for PostgreSQL")
	}
	if len(all) == 0 {
		return install{}, fault.New(fault.Unavailable, "",
			"the PostgreSQL server is not installed: run deploy/setup.sh, or give the address of a running one in DATABASE_URL")
	}
	if major == 0 {
		newest := slices.MaxFunc(all, func(a, b install) int { return cmp.Compare(a.major, b.major) })
		if newest.major < oldestMajor {
			return install{}, fault.New(fault.Unsupported, "", fmt.Sprintf(
				"PostgreSQL %d is too old: install version %d or newer", newest.major, oldestMajor))
		}
		return newest, nil
	}
	for _, i := range all {
		if i.major == major {
			return i, nil
		}
	}
	return install{}, fault.New(fault.Unsupported, "", fmt.Sprintf(
		"the data was written by PostgreSQL %[1]d, and only %[2]s is installed: install PostgreSQL %[1]d beside it (on Debian the package postgresql-%[1]d), "+
			"or move the data over with pg_upgrade; it has been left as it is", major, list(all)))
}

func list(all []install) string {
	var names []string
	for _, i := range all {
		names = append(names, strconv.Itoa(i.major))
	}
	return strings.Join(names, ", ")
}

// installs lists the servers in the folders that the pattern matches, then
// those that pg_config and PATH lead to.
func installs(ctx context.Context, pattern string) []install {
	dirs, _ := filepath.Glob(pattern) // it fails only on a malformed pattern
	if out, err := exec.CommandContext(ctx, "pg_config", "--bindir").Output(); err == nil {
		dirs = append(dirs, strings.TrimSpace(string(out)))
	}
	if at, err := exec.LookPath("postgres"); err == nil {
		dirs = append(dirs, filepath.Dir(at))
	}
	var found []install
	for _, dir := range dirs {
		i := install{dir: dir, major: majorOf(ctx, filepath.Join(dir, "postgres"))}
		if i.major == 0 || majorOf(ctx, filepath.Join(dir, "initdb")) != i.major || slices.Contains(found, i) {
			continue
		}
		found = append(found, i)
	}
	return found
}

// "postgres (PostgreSQL) 15.18 (Debian 15.18-0+deb12u1)", "initdb (PostgreSQL) 18beta1"
var versionLine = regexp.MustCompile(`\(PostgreSQL\) (\d+)`)

// majorOf asks a program for its major version; 0 if it doesn't run.
func majorOf(ctx context.Context, bin string) int {
	out, err := exec.CommandContext(ctx, bin, "--version").Output()
	if err != nil {
		return 0
	}
	m := versionLine.FindSubmatch(out)
	if m == nil {
		return 0
	}
	major, err := strconv.Atoi(string(m[1]))
	if err != nil {
		return 0
	}
	return major
}
