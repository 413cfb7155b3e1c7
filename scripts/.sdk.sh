# Sourced by the scripts here: the folder of the checkout, the .NET SDK, and a build only where one is needed.
top=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
export DOTNET_NOLOGO=1 DOTNET_CLI_TELEMETRY_OPTOUT=1 DOTNET_SKIP_FIRST_TIME_EXPERIENCE=1

need_sdk() {
    if ! command -v dotnet >/dev/null 2>&1; then
        echo "The .NET 10 SDK is not here: there is no 'dotnet' on the path." >&2
        echo "Install the SDK (not only the runtime), version 10.0 or later, as Microsoft's page 'Install .NET on Linux' says for your" >&2
        echo "distribution; on a Raspberry Pi the dotnet-install script named there does it without root. Then run this again." >&2
        exit 3
    fi
    if ! (cd "$top" && dotnet --version >/dev/null 2>&1); then
        echo "A 'dotnet' is here, but no SDK that global.json accepts (10.0.100 or a later 10.0). It says:" >&2
        (cd "$top" && dotnet --version) >&2 || true
        echo "Install the .NET 10 SDK, then run this again." >&2
        exit 3
    fi
}

# build PROJECT ASSEMBLY: builds in Release where a source is newer than the program.
build_if_needed() {
    local project=$1 made=$2 log
    if [ -f "$made" ] && [ -z "$(find "$top/src" "$top/tests/Player" "$top/tests/DemoLibrary" "$top/tests/Terminals" "$top"/Directory.*.props "$top/global.json" \
        \( -name bin -o -name obj \) -prune -o -type f -newer "$made" -print -quit)" ]; then
        return
    fi
    echo "Building (the first time takes a minute)…" >&2
    log=$(mktemp)
    if ! dotnet build "$project" -c Release -v q >"$log" 2>&1; then
        cat "$log" >&2
        rm -f "$log"
        echo "The build failed." >&2
        exit 3
    fi
    rm -f "$log"
    touch "$made"
}
