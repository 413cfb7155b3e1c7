# Sourced by scripts/install-service and scripts/uninstall-service: where things go, and how an action is shown and done.
program=/opt/acquire
config=/etc/acquire
unit=/etc/systemd/system/acquire.service
rules=/etc/udev/rules.d/61-acquire-board.rules
gpiorules=/etc/udev/rules.d/61-acquire-gpio.rules
modules=/etc/modules-load.d/acquire.conf
link=/usr/local/bin/acquire
user=acquire
root='' dry=''

fail() {
    printf '%s: %s\n' "$(basename "$0")" "$2" >&2
    exit "$1"
}

value() {
    [ $# -ge 2 ] && [ -n "$2" ] || fail 2 "$1 needs a value; see --help"
    printf '%s' "$2"
}

# A path that can stand in a unit file as it is.
plain_path() {
    case $2 in
    /*) ;;
    *) fail 2 "$1: '$2'; allowed is a path from the root on" ;;
    esac
    case $2 in
    *[!A-Za-z0-9/._-]*) fail 2 "$1: '$2'; allowed are letters, digits and / . _ -" ;;
    esac
}

# act WHAT COMMAND…: says what is done and does it, or only says it. What fails ends the script.
act() {
    printf '%s%s\n' "${dry:+would do: }" "$1"
    shift
    if [ -z "$dry" ]; then "$@"; fi
}
set -E
trap 'echo "$(basename "$0"): that did not succeed; nothing after it was done" >&2; exit 3' ERR

# live WHAT COMMAND…: the same for what changes the running system and not only files.
live() {
    if [ -n "$root" ]; then
        printf 'left out with --root: %s\n' "$1"
    else
        act "$@"
    fi
}

may_write() {
    [ "$(uname -s)" = Linux ] || fail 3 "this needs Linux with systemd. On Windows: see 'As a service' in the README."
    [ -n "$dry" ] || [ -n "$root" ] || [ "$(id -u)" = 0 ] || fail 3 "this needs root: sudo $0"
    [ -n "$dry" ] || [ -n "$root" ] || [ -d /run/systemd/system ] || fail 3 "systemd does not run here. --root DIR only puts the files in place."
}
