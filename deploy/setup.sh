#!/usr/bin/env bash
# Installs what netreel stands on, as far as it is missing: ffmpeg, the
# PostgreSQL server, fonts, Node.js and, for tests and PDFs, Chromium, for tests
# some photographs. Says nothing and changes nothing when all is there.
#
#   deploy/setup.sh                    for building, running and testing
#   deploy/setup.sh --without-tests    for building and running
#   deploy/setup.sh --to-run           for running a binary built elsewhere
#
# Works on Debian and Ubuntu. On another system it lists what is missing and
# ends with 1, as it does when something can't be had.
set -euo pipefail

readonly root="${BASH_SOURCE[0]%/*}/.."
# Where a Node.js goes when the system's is too old; the Makefile looks here first.
readonly own_node="$root/bin/node"
PATH="$own_node/node_modules/.bin:$PATH"

case "${1:-}" in
'') tools=(ffmpeg postgresql fonts node chromium photographs) ;;
--without-tests) tools=(ffmpeg postgresql fonts node) ;;
--to-run) tools=(ffmpeg postgresql fonts) ;;
*)
	echo "usage: deploy/setup.sh [--without-tests | --to-run]" >&2
	exit 2
	;;
esac

say() { printf 'setup: %s\n' "$*" >&2; }
quietly() { "$@" >/dev/null 2>&1 </dev/null; }

# Each check runs the tool: that a file is there proves little.

has_ffmpeg() {
	quietly ffprobe -version &&
		quietly ffmpeg -v error -f lavfi -i color=s=64x64:d=0.1 -f lavfi -i anullsrc -shortest -c:v libx264 -c:a aac -f null -
}

# Debian keeps the server out of PATH, a folder for each version.
has_postgresql() {
	local bin version
	for bin in /usr/lib/postgresql/*/bin/postgres "$(command -v postgres || true)"; do
		if [ ! -x "$bin" ] || [ ! -x "${bin%/*}/initdb" ]; then continue; fi
		version="$("$bin" --version 2>/dev/null)" || continue
		[[ $version =~ \(PostgreSQL\)\ ([0-9]+) ]] && [ "${BASH_REMATCH[1]}" -ge 14 ] && return 0
	done
	return 1
}

has_fonts() { [ -s /usr/share/fonts/truetype/dejavu/DejaVuSans.ttf ] || fc-list 2>/dev/null | grep -q 'DejaVu Sans'; }

# What the page's build tool asks for: ^20.19.0 || >=22.12.0.
has_node() {
	quietly npm --version &&
		quietly node -e '
			const [major, minor] = process.versions.node.split(".").map(Number)
			process.exit(major === 20 && minor >= 19 || major === 22 && minor >= 12 || major > 22 ? 0 : 1)'
}

# The first of these names that there is, is the one that the tests run. On
# Ubuntu chromium-browser may be an empty shell that only asks for a snap.
browser() {
	local name
	for name in headless_shell headless-shell chromium chromium-browser google-chrome google-chrome-stable; do
		if command -v "$name"; then return; fi
	done
	return 1
}
has_chromium() { browser >/dev/null && quietly "$(browser)" --version; }

# Photographs of people and of a painted wall, on which the tests measure.
has_photographs() { [ -s /usr/share/doc/opencv-doc/examples/data/messi5.jpg ] && [ -s /usr/share/doc/opencv-doc/examples/data/graf1.png ]; }

missing() {
	local tool
	for tool in "${tools[@]}"; do
		"has_$tool" || echo "$tool"
	done
}

declare -A what=(
	[ffmpeg]='ffmpeg and ffprobe, with libx264 and AAC'
	[postgresql]='the PostgreSQL server, version 14 or newer (no cluster of its own is needed)'
	[fonts]='the DejaVu fonts'
	[node]='Node.js ^20.19 or >=22.12, with npm'
	[chromium]='Chromium or Google Chrome, for the tests and reports as PDF'
	[photographs]='the example pictures of Debian’s package opencv-doc, for the tests'
)

# give_up lists what is missing and ends.
give_up() {
	say "$1"
	local tool
	for tool in $(missing); do
		say "  - ${what[$tool]}"
	done
	exit 1
}

as_root() {
	if [ "$(id -u)" = 0 ]; then
		"$@"
	else
		sudo "$@"
	fi
}

apt_install() {
	as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@" </dev/null >&2
}

# install_postgresql keeps Debian from making and starting a cluster of its own,
# which nobody here would use.
install_postgresql() {
	local no_cluster=/etc/postgresql-common/createcluster.d/netreel.conf
	as_root mkdir -p "${no_cluster%/*}"
	echo 'create_main_cluster = false' | as_root tee "$no_cluster" >/dev/null
	local failed=0
	apt_install postgresql || failed=$?
	as_root rm -f "$no_cluster"
	return "$failed"
}

# install_node takes the system's Node.js, and where that is too old one of our
# own beside the binary, from the npm registry.
install_node() {
	if ! quietly node --version || ! quietly npm --version; then
		apt_install nodejs npm
	fi
	if ! has_node; then
		say "Node.js $(node --version) is too old: putting a newer one into bin/node"
		mkdir -p "$own_node"
		npm install --prefix "$own_node" --no-save --no-audit --no-fund --loglevel=error node@22 npm@10 </dev/null >&2
		hash -r
	fi
}

install_chromium() {
	if apt-cache show chromium 2>/dev/null | grep -q '^Filename:.*chromium_' && ! grep -qi '^ID=ubuntu' /etc/os-release; then
		apt_install chromium
	else
		say "this system offers Chromium as a snap only, which keeps the tests out of their own folders: install Google Chrome, or Chromium from elsewhere"
	fi
}

# install_photographs asks for files that small systems leave out of packages.
install_photographs() {
	apt_install --reinstall -o 'Dpkg::Options::=--path-include=/usr/share/doc/opencv-doc/examples/data/*' opencv-doc
}

todo="$(missing)"
[ -n "$todo" ] || exit 0

quietly apt-get --version || give_up "this is neither Debian nor Ubuntu; install these yourself, then start again:"
[ "$(id -u)" = 0 ] || quietly sudo -V || give_up "installing needs root or sudo; have these installed, then start again:"

say "installing what is missing: ${todo//$'\n'/, }"
# What fails here is found missing below.
as_root apt-get update -qq </dev/null >&2 || true
for tool in $todo; do
	case $tool in
	ffmpeg) apt_install ffmpeg ;;
	postgresql) install_postgresql ;;
	fonts) apt_install fonts-dejavu-core ;;
	node) install_node ;;
	chromium) install_chromium ;;
	photographs) install_photographs ;;
	esac || say "$tool could not be installed"
done

[ -z "$(missing)" ] || give_up "these are still missing or don't run:"
say "all is there"
