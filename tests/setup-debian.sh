#!/usr/bin/env bash
# Puts there what the tests need from Debian and pip cannot bring, and only what is missing:
#
#   chromium     a real browser, for tests/browser
#   postgresql   the server programs, for every test that asks for both databases
#                (the tests start a server of their own in a temporary folder; Debian may start one too,
#                which they never speak to)
#
# As root, or with a sudo that asks no password, it calls apt-get. Anywhere else it says which tests will be
# skipped and how to get the programs, and goes on. With CI set, tests that miss a program fail instead.
set -euo pipefail

server_there() {
    command -v postgres > /dev/null && command -v initdb > /dev/null && return 0
    compgen -G '/usr/lib/postgresql/*/bin/initdb' > /dev/null
}

missing=()
command -v chromium > /dev/null || missing+=(chromium)
server_there || missing+=(postgresql)
[ "${#missing[@]}" -eq 0 ] && exit 0

without() {
    echo "set-up: $1: ${missing[*]}"
    for name in "${missing[@]}"; do
        case "$name" in
            chromium) echo "  without chromium the tests in tests/browser are skipped" ;;
            postgresql) echo "  without postgresql the tests that ask for both databases run on SQLite alone" ;;
        esac
    done
    echo "  by hand: apt-get install ${missing[*]}"
}

command -v apt-get > /dev/null || { without "no apt-get here, so not installed"; exit 0; }
as_root=()
if [ "$(id -u)" -ne 0 ]; then
    if command -v sudo > /dev/null && sudo -n true 2> /dev/null; then
        as_root=(sudo -n)
    else
        without "not root and no sudo without a password, so not installed"
        exit 0
    fi
fi

echo "set-up: from Debian: ${missing[*]}"
log=$(mktemp)
trap 'rm -f "$log"' EXIT
install() {
    "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install --yes --no-install-recommends "${missing[@]}"
}
# Old package lists name files that are gone: ask for new ones first, and go on if only that fails.
"${as_root[@]}" apt-get update > "$log" 2>&1 || true
if ! install >> "$log" 2>&1; then
    tail -n 15 "$log"
    without "apt-get could not install"
fi
