#!/bin/sh
# The tests. Alone: installs what is missing, builds, and passes everything that has to pass; the last line is
# `N passed, N failed, N skipped`. With a word: one check of it. `sh tests/run.sh help` lists the words.
set -u

root=$(CDPATH= cd -- "$(dirname -- "$0")/.." && pwd)
build=${SETWELL_BUILD:-$root/build}
jobs=$(nproc 2>/dev/null || echo 2)
export CCACHE_NOHASHDIR=1
export CCACHE_BASEDIR="$root"

# Where data that is not part of the project lies, unless told otherwise. What is absent is skipped, and said so.
export SETWELL_REFERENCE="${SETWELL_REFERENCE:-$root/../shared/reference}"
export SETWELL_CASES="${SETWELL_CASES:-$root/../shared/cases/payloads.json}"
export SETWELL_ROOMS="${SETWELL_ROOMS:-$root/../shared/climate}"
export SETWELL_TABLES="${SETWELL_TABLES:-$root/../shared/datasheets/tables.csv}"

packages="g++ cmake ninja-build ccache pkg-config libboost1.81-dev libboost-json1.81-dev libpaho-mqttpp-dev
  libpaho-mqtt-dev libsqlite3-dev libsqlitecpp-dev libcurl4-openssl-dev libssl-dev libspdlog-dev libfmt-dev
  catch2 libcli11-dev libtomlplusplus-dev mosquitto mosquitto-clients sqlite3 python3 python3-paho-mqtt
  python3-jsonschema python3-aiosmtpd openssl tzdata binutils chromium fonts-dejavu-core"
tidy_packages="clang clang-tidy clang-format"

# The packaged interpreter is the one that the packages above extend.
python=/usr/bin/python3
[ -x "$python" ] || python=python3

usage() {
  cat <<'TEXT'
sh tests/run.sh              everything: build, tests, sanitizers, tidy
sh tests/run.sh quick        build and tests only
sh tests/run.sh asan|tsan|tidy   one more stage alone
sh tests/run.sh reference    vectors of SETWELL_REFERENCE (default ../shared/reference)
sh tests/run.sh tables       priors on published times of SETWELL_TABLES that they never saw
sh tests/run.sh cases        payloads of SETWELL_CASES (default ../shared/cases/payloads.json)
sh tests/run.sh forecast [--last-days N]   the forecast held against every room of SETWELL_ROOMS, hour by hour
sh tests/run.sh silences     stretches of the rooms of SETWELL_ROOMS held out as silences: is the truth in the envelope?
sh tests/run.sh rooms        recorded rooms of SETWELL_ROOMS through the daemon, beside an independent integrator
sh tests/run.sh shops [--coats N] [--seed N] [--k K] [--family F] [--explain]   simulated shops: how often told wrong
sh tests/run.sh mutants      small faults, one at a time, that some test must see
sh tests/run.sh kill [--kills N]   kill -9 under load; nothing acknowledged may be lost
sh tests/run.sh bench [--clean-build]   figures: machine, build type, medians, each with its unit
With --json the last line is one JSON object.
TEXT
}

say() { printf '%s\n' "$*" >&2; }

missing_packages() {
  for package in "$@"; do
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'install ok installed' || printf '%s ' "$package"
  done
}

install_packages() {
  need=$(missing_packages "$@")
  [ -z "$need" ] && return 0
  if [ "$(id -u)" -ne 0 ]; then
    say "These packages are missing: $need"
    say "Install them, or run this as root once: apt-get install -y --no-install-recommends $need"
    exit 1
  fi
  say "Installing: $need"
  # A broker that a package would start belongs to nobody here; tests start their own.
  DEBIAN_FRONTEND=noninteractive apt-get update -q >/dev/null 2>&1
  # shellcheck disable=SC2086
  DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends $need >/tmp/setwell-apt.$$ 2>&1 || {
    cat /tmp/setwell-apt.$$ >&2
    rm -f /tmp/setwell-apt.$$
    exit 1
  }
  rm -f /tmp/setwell-apt.$$
}

configure() { # variant
  # try-it.sh shares the release build and leaves the tests out of it.
  cmake -S "$root" -B "$build/$1" -G Ninja -C "$root/.cmake/$1.cmake" -DSETWELL_TESTS=ON \
    -DPython3_EXECUTABLE="$(command -v "$python")" >"$build/$1.configure.log" 2>&1 || {
    cat "$build/$1.configure.log" >&2
    return 1
  }
}

build_variant() { # variant targets…
  variant=$1
  shift
  mkdir -p "$build"
  configure "$variant" && ninja -C "$build/$variant" -j "$jobs" "$@" >"$build/$variant.build.log" 2>&1 || {
    tail -n 60 "$build/$variant.build.log" >&2
    return 1
  }
}

passed=0
failed=0
skipped=0
stage_started=$(date +%s)

stage() { # name
  stage_started=$(date +%s)
  say ""
  say "== $1"
}

stage_done() { # name
  seconds=$(($(date +%s) - stage_started))
  say "== $1: $((seconds / 60)) min $((seconds % 60)) s"
}

one_check() { # name command…
  name=$1
  shift
  "$@"
  code=$?
  case $code in
    0) passed=$((passed + 1)) ;;
    77) skipped=$((skipped + 1)); say "skipped: $name" ;;
    *) failed=$((failed + 1)); say "FAILED: $name" ;;
  esac
  return 0
}

run_ctest() { # variant ctest-options…
  variant=$1
  shift
  report="$build/$variant.tests.xml"
  rm -f "$report"
  ctest --test-dir "$build/$variant" --output-on-failure --output-junit "$report" -j "$jobs" "$@" \
    >"$build/$variant.tests.log" 2>&1
  if [ ! -s "$report" ]; then
    failed=$((failed + 1))
    tail -n 40 "$build/$variant.tests.log" >&2
    return
  fi
  total=$(sed -n 's/.*tests="\([0-9]*\)".*/\1/p' "$report" | head -n 1)
  bad=$(sed -n 's/.*failures="\([0-9]*\)".*/\1/p' "$report" | head -n 1)
  not_run=$(sed -n 's/.*skipped="\([0-9]*\)".*/\1/p' "$report" | head -n 1)
  off=$(sed -n 's/.*disabled="\([0-9]*\)".*/\1/p' "$report" | head -n 1)
  not_run=$((${not_run:-0} + ${off:-0}))
  passed=$((passed + ${total:-0} - ${bad:-0} - not_run))
  failed=$((failed + ${bad:-0}))
  skipped=$((skipped + not_run))
  say "$variant: ${total:-0} tests, ${bad:-0} failed, $not_run skipped"
  [ "${bad:-0}" = 0 ] || grep -E '\*\*\*|Failed|FAILED|Timeout' "$build/$variant.tests.log" | head -n 60 >&2
}

stage_build() {
  stage build
  one_check build build_variant dev
  stage_done build
}

stage_tests() {
  stage tests
  [ -d "$build/dev" ] && run_ctest dev
  one_check "reference vectors" reference_check
  one_check "priors on sheets they never saw" tables_check
  one_check "payload cases" cases_check
  one_check "forecast over recorded rooms" forecast_check
  one_check "kill -9 under load, 5 times" kill_check --kills 5
  stage_done tests
}

# The programs that each sanitizer goes through: what touches memory, files, threads and the outside.
asan_programs="test_quantity test_decode test_screen test_core_people test_core_cure test_ledger test_runtime
  test_rpc test_api test_mqtt"
tsan_programs="test_runtime test_rpc test_notices"

stage_sanitizer() { # variant programs…
  variant=$1
  shift
  before=$failed
  one_check "build ($variant)" build_variant "$variant" "$@"
  if [ "$failed" = "$before" ]; then
    names=$(printf '%s|' "$@")
    run_ctest "$variant" -R "^(${names%|}):"
  fi
}

stage_asan() {
  stage "address and undefined-behaviour sanitizers"
  # shellcheck disable=SC2086
  UBSAN_OPTIONS=print_stacktrace=1 stage_sanitizer asan $asan_programs
  stage_done asan
}

stage_tsan() {
  stage "thread sanitizer"
  # shellcheck disable=SC2086
  stage_sanitizer tsan $tsan_programs
  stage_done tsan
}

stage_tidy() {
  stage tidy
  install_packages $tidy_packages
  one_check format format_check
  one_check tidy tidy_check
  stage_done tidy
}

format_check() {
  git -C "$root" ls-files '*.cpp' '*.hpp' | (cd "$root" && xargs clang-format --dry-run -Werror) >"$build/format.log" 2>&1 || {
    grep -m 20 'error:' "$build/format.log" >&2
    return 1
  }
}

# Every file of ours through the named checks of .clang-tidy; two at a time on two cores.
tidy_check() {
  build_variant tidy help >/dev/null || return 1
  git -C "$root" ls-files 'daemon/*.cpp' 'sensors/*.cpp' 'cli/*.cpp' |
    (cd "$root" && xargs -P "$jobs" -n 1 clang-tidy --quiet -p "$build/tidy") >"$build/tidy.log" 2>&1 || {
    grep -E 'warning:|error:' "$build/tidy.log" | sort -u | head -n 40 >&2
    return 1
  }
}

reference_check() { "$build/dev/bin/setwell_reference" "$SETWELL_REFERENCE"; }
tables_check() { "$build/dev/bin/setwell_tables"; }
cases_check() { "$build/dev/bin/setwell_cases" "$SETWELL_CASES"; }
forecast_check() { "$build/dev/bin/setwell_forecast" "$SETWELL_ROOMS" "$@"; }
kill_check() { "$python" "$root/tests/system/kill_readings.py" --build "$build/dev" "$@"; }

totals() {
  printf '%s passed, %s failed, %s skipped\n' "$passed" "$failed" "$skipped"
  [ "$failed" = 0 ]
}

need_dev() { # targets…; all without
  # shellcheck disable=SC2086
  install_packages $packages
  build_variant dev "$@" || exit 1
}

word=${1:-all}
[ $# -gt 0 ] && shift
mkdir -p "$build"
case $word in
  all)
    # shellcheck disable=SC2086
    install_packages $packages
    stage_build
    stage_tests
    stage_asan
    stage_tsan
    stage_tidy
    totals
    ;;
  quick)
    # shellcheck disable=SC2086
    install_packages $packages
    stage_build
    stage_tests
    totals
    ;;
  asan | tsan | tidy)
    # shellcheck disable=SC2086
    install_packages $packages
    "stage_$word"
    totals
    ;;
  reference) need_dev; reference_check ;;
  tables) need_dev setwell_tables; tables_check ;;
  cases) need_dev; cases_check ;;
  silences) need_dev; "$build/dev/bin/setwell_silences" "$SETWELL_ROOMS" ;;
  forecast) need_dev; forecast_check "$@" ;;
  rooms) need_dev; "$python" "$root/tests/system/replay_rooms.py" --build "$build/dev" "$@" ;;
  shops)
    # shellcheck disable=SC2086
    install_packages $packages
    build_variant release setwell_shops || exit 1
    "$build/release/bin/setwell_shops" --jobs "$jobs" "$@"
    ;;
  mutants)
    # shellcheck disable=SC2086
    install_packages $packages
    "$python" "$root/tests/mutants/run_mutants.py" --root "$root" --jobs "$jobs" "$@"
    ;;
  kill) need_dev; kill_check "$@" ;;
  bench)
    # shellcheck disable=SC2086
    install_packages $packages
    build_variant release setwelld setwell setwell-room setwell_engine_figures setwell_keeper_figures ||
      exit 1
    "$python" "$root/tests/bench/figures.py" --build "$build/release" "$@"
    ;;
  help | --help) usage ;;
  *)
    say "There is no check called '$word'."
    usage >&2
    exit 2
    ;;
esac
