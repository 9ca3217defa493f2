# Shared by start and check: a virtual environment from a locked list.

# Prints the first Python that is new enough.
find_python() {
    for name in python3 python3.13 python3.12 python3.11 python3.14 python; do
        if command -v "$name" >/dev/null 2>&1 &&
            "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            echo "$name"
            return
        fi
    done
    echo "Gaiter needs Python 3.11 or newer; none was found. Install it and run this again." >&2
    exit 1
}

# Installs a Debian package as root, or names the command.
need_package() {
    if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
        echo "Installing the Debian package $1 ..."
        (apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq "$1") >/dev/null
    else
        echo "The package $1 is missing. Install it (Debian: sudo apt-get install $1)." >&2
        exit 1
    fi
}

# environment FOLDER LOCK: installs what the lock lists when the lock has changed, and Gaiter itself,
# which takes seconds, when its description or the commit has: its version comes from git.
environment() {
    folder=$1 lock=$2
    listed=$(cksum <"$lock")
    own="$listed $(cksum <pyproject.toml) $(git rev-parse HEAD 2>/dev/null || echo no commit)"
    if [ "$(cat "$folder/.stamp-lock" 2>/dev/null)" != "$listed" ]; then
        python=$(find_python)
        "$python" -c 'import ensurepip' 2>/dev/null || need_package python3-venv
        rm -rf "$folder"
        "$python" -m venv "$folder"
        echo "Installing what $lock lists ..."
        "$folder/bin/python" -m pip install --quiet --disable-pip-version-check --require-hashes \
            -r "$lock"
        echo "$listed" >"$folder/.stamp-lock"
    fi
    if [ "$(cat "$folder/.stamp-own" 2>/dev/null)" != "$own" ]; then
        "$folder/bin/python" -m pip install --quiet --disable-pip-version-check --no-deps \
            --no-build-isolation --editable .
        echo "$own" >"$folder/.stamp-own"
    fi
}
