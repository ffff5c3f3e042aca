# Sourced by ./start and ./check: makes .venv where it is missing, half made or out of date.
# The caller has set $here, the folder of this file; $venv and make_environment come from here.

venv=$here/.venv
log=$venv/install.log     # what pip said
stamp=$venv/installed     # what was installed: a key, and the extras
begun=$venv/being-changed # there while pip works: if it stays, the work was cut off

say() { printf 'dryside: %s\n' "$*" >&2; }

die() {
    say "$@"
    exit 1
}

on_a_pi() {
    case $(uname -m) in arm* | aarch64) ;; *) return 1 ;; esac
    compgen -G '/dev/gpiochip*' >/dev/null || grep -qs 'Raspberry Pi' /proc/device-tree/model
}

# Gives the real path of a Python that can make the environment: a link that moves to another
# version with the next system upgrade would leave an environment that only looks whole.
find_python() {
    local name path old='' bare='' candidates=(python3.13 python3.12 python3.11 python3)
    # on a Pi the system's own comes first: it alone sees the packages that apt installed
    if on_a_pi; then candidates=(/usr/bin/python3 "${candidates[@]}"); fi
    for name in "${candidates[@]}"; do
        path=$("$name" -I -c 'import os, sys; print(os.path.realpath(sys.executable))' \
            2>/dev/null) || continue
        if ! "$path" -I -c 'import sys; sys.exit(sys.version_info < (3, 11))'; then
            old=$("$path" -I -c 'import platform; print(platform.python_version())')
        elif ! "$path" -I -c 'import ensurepip, venv' 2>/dev/null; then
            bare=${bare:-$path}
        else
            printf '%s\n' "$path"
            return
        fi
    done
    if [ -n "$bare" ]; then
        local package=${bare##*/}-venv
        if [ "$bare" = "$(readlink -f /usr/bin/python3)" ]; then package=python3-venv; fi
        die "$bare cannot make environments; on Debian or Raspberry Pi OS this adds what" \
            "is missing: sudo apt install $package"
    fi
    die "Dryside needs Python 3.11 or newer${old:+, and this machine has $old}; on Debian 12" \
        "or Raspberry Pi OS 12 and later: sudo apt install python3 python3-venv"
}

# What the environment depends on: if this changes, it is installed again.
wanted_key() {
    { printf '%s\n' "$here"; cat "$here/pyproject.toml" "$here/constraints.txt"; } | sha256sum |
        cut -d ' ' -f 1
}

# stamp_covers KEY EXTRA...: is all of this installed, and whole?
stamp_covers() {
    local key extras extra
    [ -x "$venv/bin/python" ] && [ -x "$venv/bin/dryside" ] && [ ! -e "$begun" ] || return 1
    { read -r key && read -r extras; } 2>/dev/null <"$stamp" || return 1
    [ "$key" = "$1" ] || return 1
    for extra in "${@:2}"; do
        case ,$extras, in *",$extra,"*) ;; *) return 1 ;; esac
    done
}

# A whole environment in this very folder, only older than it should be.
can_be_updated() {
    [ -x "$venv/bin/python" ] && [ -s "$stamp" ] && [ ! -e "$begun" ] &&
        [ "$(cat "$venv/made-in" 2>/dev/null)" = "$here" ]
}

# new_venv PYTHON
new_venv() {
    local python=$1 options=()
    if on_a_pi && "$python" -I -c 'import sys; sys.exit(sys.version_info < (3, 13))'; then
        # lgpio has no wheels for these: the system's own package serves
        options=(--system-site-packages)
        "$python" -I -c 'import lgpio' 2>/dev/null ||
            say "for real pins this machine still needs: sudo apt install python3-lgpio"
    fi
    rm -rf "$venv" 2>/dev/null && mkdir "$venv" 2>/dev/null ||
        die "cannot write in $here: put Dryside into a folder of your own"
    "$python" -I -m venv "${options[@]}" "$venv" >"$log" 2>&1 ||
        die "Python could not make an environment in $venv; what it said is in $log"
    printf '%s\n' "$here" >"$venv/made-in"
}

# install KEY EXTRA...
install() {
    local key=$1 extras
    extras=$(IFS=, && printf '%s' "${*:2}")
    touch "$begun" 2>/dev/null || die "cannot write in $venv: who made it must update it"
    if ! (
        # settings of the person's own that would put the packages elsewhere
        unset PIP_USER PIP_TARGET PIP_PREFIX PIP_ROOT
        if [ -z "${HOME-}" ] || [ ! -w "$HOME" ]; then export PIP_NO_CACHE_DIR=1; fi
        cd -- "$here" && exec "$venv/bin/python" -I -m pip install --retries 2 \
            -c constraints.txt -e ".${extras:+[$extras]}"
    ) >"$log" 2>&1 </dev/null; then
        rm -f "$begun" # pip gave up in good order, so what was there before is still whole
        if grep -qE 'NewConnectionError|ConnectTimeout|ReadTimeout|ProxyError|SSLError|name resol|unreachable|No matching distribution' "$log"; then
            die "the packages could not be fetched: is this machine on the network?" \
                "What pip said is in $log"
        fi
        die "the packages could not be installed; what pip said is in $log"
    fi
    printf '%s\n' "$key" "$extras" >"$stamp"
    rm -f "$begun"
}

# make_environment EXTRA...: does nothing, and at once, where all is there already.
make_environment() {
    local key extras=("$@") had python
    if on_a_pi; then extras+=(pi sound); fi
    key=$(wanted_key)
    if stamp_covers "$key" "${extras[@]}"; then return; fi
    # two at once would trip over each other
    if command -v flock >/dev/null; then
        exec 9<"$here"
        flock 9
        if stamp_covers "$key" "${extras[@]}"; then
            exec 9<&-
            return
        fi
    fi
    if can_be_updated; then
        say "bringing the environment in .venv up to date (a minute or so) ..."
        # what ./check added stays when ./start updates
        had=$(sed -n 2p "$stamp" | tr ',' ' ')
        # shellcheck disable=SC2086  # words are wanted
        set -- $had "${extras[@]}"
        mapfile -t extras < <(printf '%s\n' "$@" | sed '/^$/d' | sort -u)
    else
        python=$(find_python)
        say "making an environment in .venv (once; it can take some minutes) ..."
        new_venv "$python"
    fi
    install "$key" "${extras[@]}"
    exec 9<&-
}
