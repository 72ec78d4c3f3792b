#!/bin/sh
# Debian packages that the tests use beside Python: ngspice (an independent circuit solver) and Chromium (a real browser).
# Installed when this may be done; otherwise named, and the tests that need them are skipped by name.
missing=""
command -v ngspice >/dev/null 2>&1 || missing="$missing ngspice"
command -v chromium >/dev/null 2>&1 || missing="$missing chromium"
[ -z "$missing" ] && exit 0
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
    echo "Installing for the tests:$missing"
    if apt-get update -qq >/dev/null 2>&1 && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq $missing >/dev/null 2>&1; then
        exit 0
    fi
    echo "Could not install:$missing"
fi
echo "Missing for some tests:$missing (on Debian, as root: apt-get install$missing). Those tests will be skipped and say so."
exit 0
