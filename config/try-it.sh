#!/bin/sh
# A cold night in an invented workshop, played through the real programs on this machine alone. It builds them,
# starts a broker and a daemon of its own in a folder of its own, logs a few pieces, lets the night pass at high
# speed and shows how `setwell now` changes, until a coat is told to be safe to recoat. Then it stays up until
# interrupted; with --once it ends there. Everything that it started ends with it.
set -u

root=$(CDPATH= cd -- "$(dirname -- "$0")/.." && pwd)
build=${SETWELL_BUILD:-$root/build}/release
once=no
PATH=$PATH:/usr/sbin:/usr/local/sbin
export PATH
export CCACHE_NOHASHDIR=1
export CCACHE_BASEDIR="$root"

packages="g++ cmake ninja-build ccache pkg-config libboost1.81-dev libboost-json1.81-dev libpaho-mqttpp-dev
  libpaho-mqtt-dev libsqlite3-dev libsqlitecpp-dev libcurl4-openssl-dev libssl-dev libspdlog-dev libfmt-dev
  libcli11-dev libtomlplusplus-dev mosquitto tzdata"

say() { printf '%s\n' "$*"; }
fail() {
  printf '%s\n' "$*" >&2
  exit 1
}

case ${1:-} in
  '') ;;
  --once) once=yes ;;
  --help | -h)
    say "sh config/try-it.sh          a cold night at high speed; stays up until interrupted"
    say "sh config/try-it.sh --once   ends after the first notice \"safe to recoat\""
    exit 0
    ;;
  *)
    say "There is no option '$1'; there is --once." >&2
    exit 2
    ;;
esac

# --- packages and build ---------------------------------------------------------------------------------------

install_packages() {
  need=
  for package in $packages; do
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'install ok installed' || need="$need $package"
  done
  [ -z "$need" ] && return 0
  [ "$(id -u)" -eq 0 ] ||
    fail "These packages are missing. As root: apt-get install -y --no-install-recommends$need"
  say "Installing:$need"
  log=$(mktemp)
  # shellcheck disable=SC2086
  if ! { DEBIAN_FRONTEND=noninteractive apt-get update -q &&
    DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends $need; } >"$log" 2>&1; then
    tail -n 30 "$log" >&2
    rm -f "$log"
    fail "The packages could not be installed."
  fi
  rm -f "$log"
}

build_programs() {
  say "Building into $build (the first time takes minutes)"
  mkdir -p "$build"
  cmake -S "$root" -B "$build" -G Ninja -C "$root/.cmake/release.cmake" -DSETWELL_TESTS=OFF \
    >"$build.configure.log" 2>&1 || {
    tail -n 30 "$build.configure.log" >&2
    fail "The build could not be configured."
  }
  NINJA_STATUS='[%f/%t] ' ninja -C "$build" setwelld setwell setwell-room || fail "The build failed."
}

# --- what runs, and how it ends -------------------------------------------------------------------------------

folder=
pids=

end_all() {
  trap - EXIT INT TERM HUP
  for pid in $pids; do kill -TERM "$pid" 2>/dev/null; done
  for pid in $pids; do wait "$pid" 2>/dev/null; done
  [ -n "$folder" ] && rm -rf "$folder"
}
stopped_with=130
trap end_all EXIT
trap 'exit $stopped_with' INT TERM HUP

# until_true SECONDS WHAT command…: asks again until the command succeeds; never trusts in a fixed time.
until_true() {
  tries=$(($1 * 10))
  what=$2
  shift 2
  until "$@"; do
    tries=$((tries - 1))
    if [ "$tries" -le 0 ]; then
      [ -f "$folder/daemon.log" ] && tail -n 20 "$folder/daemon.log" >&2
      fail "Gave up waiting: $what."
    fi
    sleep 0.1
  done
}

broker_settled() { grep -q ' running$' "$folder/broker.log" || ! kill -0 "$broker" 2>/dev/null; }

start_broker() {
  port=$((20000 + $$ % 20000))
  last=$((port + 50))
  while [ "$port" -lt "$last" ]; do
    printf "%s\n" "listener $port 127.0.0.1" "allow_anonymous true" "persistence false" \
      "max_queued_messages 100000" "log_dest stderr" \
      >"$folder/broker.conf"
    mosquitto -c "$folder/broker.conf" >"$folder/broker.log" 2>&1 &
    broker=$!
    pids=$broker
    until_true 20 "the broker" broker_settled
    kill -0 "$broker" 2>/dev/null && return 0
    wait "$broker" 2>/dev/null
    pids=
    port=$((port + 1)) # taken by somebody else
  done
  cat "$folder/broker.log" >&2
  fail "No broker could be started."
}

channel() { # zone quantity member
  cat <<TEXT
[[channel]]
zone = "$1"
topic = "cold-night/$1/climate"
quantity = "$2"
format = "json"
path = "/$3"
time_path = "/time"
time_unit = "iso"

TEXT
}

write_settings() {
  cp -R "$root/config/sheets" "$root/config/schedules" "$folder/"
  {
    cat <<TEXT
# An invented workshop on a cold night.
[workshop]
name = "Cold-night workshop (invented)"
time_zone = "UTC"
temperature = "C"
clock = "24h"
waking = "00:00-00:00"
quiet = "00:00-00:00"

[broker]
host = "127.0.0.1"
port = $port

[[zone]]
id = "bench"
kind = "room"

[[zone]]
id = "rack"
kind = "room"
places = 6

TEXT
    for zone in bench rack; do
      channel "$zone" air-temperature temperature
      channel "$zone" relative-humidity humidity
    done
    cat <<TEXT
[[form]]
id = "tumbler"
area = "450 cm2"
lag = "15 min"

[[route]]
id = "journal"
kind = "log"
instant = true
TEXT
  } >"$folder/setwelld.toml"
}

ask() { "$build/bin/setwell" --socket "$folder/setwell.sock" --no-colour "$@"; }

show() { # a command as typed, and what it answers
  say ""
  say "\$ setwell $*"
  ask "$@" || fail "That went wrong: setwell $*"
}

daemon_ready() {
  kill -0 "$daemon" 2>/dev/null || {
    cat "$folder/daemon.log" >&2
    fail "The daemon ended."
  }
  ask status --json 2>/dev/null | grep -q '"subscribed":true'
}

start_daemon() {
  "$build/bin/setwelld" --check --config "$folder/setwelld.toml" >"$folder/check.log" ||
    { cat "$folder/check.log" >&2; fail "The settings have faults."; }
  "$build/bin/setwelld" --time-from-readings --config "$folder/setwelld.toml" --state "$folder/state" \
    --socket "$folder/setwell.sock" >"$folder/daemon.log" 2>&1 &
  daemon=$!
  pids="$pids $daemon"
  until_true 30 "the daemon" daemon_ready
}

# --- the night ------------------------------------------------------------------------------------------------

# Both rooms are invented from a fixed seed: heated to 20 °C by day, left to cool towards 14 °C from 21:00 on.
invent_room() { # zone seed
  "$build/bin/setwell-room" --csv --seed "$2" --season winter --set-back --days 9 --begin "$(stamp "$clock")" \
    >"$folder/$1.csv" || fail "The room could not be invented."
}

play() { # zone begin end speed
  exec "$build/bin/setwell-room" --from "$folder/$1.csv" --broker "127.0.0.1:$port" \
    --topic "cold-night/$1/climate" --begin "$2" --end "$3" --speed "$4"
}

stamp() { date -u -d "@$1" +%Y-%m-%dT%H:%M:%SZ; }

settled() {
  status=$(ask status --json 2>/dev/null)
  case $status in *'"waiting":0'*) ;; *) return 1 ;; esac
  # A step's last row is five minutes before its end; rehearsal time is the newest row taken.
  case $status in *"\"time\":\"$newest"*) ;; *) return 1 ;; esac
  ! ask now --json | grep -q '"recomputing":true'
}

pass_time() { # seconds-of-the-night speed: the rooms go on by that much
  begin=$clock
  clock=$((clock + $1))
  play bench "$(stamp "$begin")" "$(stamp "$clock")" "$2" >"$folder/room-bench.log" 2>&1 &
  first=$!
  play rack "$(stamp "$begin")" "$(stamp "$clock")" "$2" >"$folder/room-rack.log" 2>&1 &
  second=$!
  pids="$pids $first $second"
  wait "$first" || { cat "$folder/room-bench.log" >&2; fail "The bench's readings did not get through."; }
  wait "$second" || { cat "$folder/room-rack.log" >&2; fail "The rack's readings did not get through."; }
  pids=${pids% "$first" "$second"}
  newest=$(date -u -d "@$((clock - 300))" +%Y-%m-%dT%H:%M)
  until_true 60 "the readings to be taken in" settled
}

# One line per notice, so that plain tools can pick one.
safe_notice() {
  ask notices --all --json | sed 's/{"notice":/\n&/g' | grep '"kind":"safe-to-recoat"' |
    grep -q '"state":"sent"'
}

install_packages
build_programs

folder=$(mktemp -d "${TMPDIR:-/tmp}/setwell-try-XXXXXX") || fail "No folder for the trial could be made."
start_broker
write_settings
start_daemon

say ""
say "An invented workshop: a bench and a rack, heated by day, left cold by night. No figure of it is any"
say "manufacturer's. Its time runs with its readings, and every output says that it is a rehearsal."

evening=$(date -u -d 2031-01-14T18:00:00Z +%s)
clock=$((evening - 4 * 86400))
invent_room bench 7
invent_room rack 8
pass_time $((4 * 86400)) max

show piece new fern-01 moss-01 reed-01..02 --form tumbler
say ""
say "# fern-01 got its coat two days ago, and nobody came back in time."
show coat fast-coating-epoxy fern-01 --zone rack --at 2031-01-12T17:00:00Z
say ""
say "# moss-01 was coated an hour ago."
show coat fast-coating-epoxy moss-01 --zone bench --at 1h --film 400
say ""
say "# reed-01 and reed-02 get one batch, mixed just now."
show mixed fast-coating-epoxy 60 27 --zone bench --stirred 3
show coat @ reed-01..02 --zone bench --film 400

show now

until safe_notice; do
  [ "$clock" -lt $((evening + 36 * 3600)) ] ||
    fail "A night and a day passed without a coat being safe to recoat; see the outputs above."
  pass_time 3600 2400
  show now
done

say ""
say "== Safe to recoat was told. How it was delivered:"
show notices
say ""
say "On the log route:"
grep -i 'safe to recoat' "$folder/daemon.log" | head -n 3

if [ "$once" = yes ]; then
  exit 0
fi

stopped_with=0
begin=$clock
clock=$((clock + 2 * 86400))
play bench "$(stamp "$begin")" "$(stamp "$clock")" 60 >"$folder/room-bench.log" 2>&1 &
pids="$pids $!"
play rack "$(stamp "$begin")" "$(stamp "$clock")" 60 >"$folder/room-rack.log" 2>&1 &
pids="$pids $!"
say ""
say "It stays up, one minute of the workshop a second. Ask it from another terminal:"
say "  $build/bin/setwell --socket $folder/setwell.sock now"
say "  $build/bin/setwell --socket $folder/setwell.sock piece show moss-01"
say "Ctrl-C ends everything that was started here."
while kill -0 "$daemon" 2>/dev/null; do
  sleep 5 &
  wait $!
done
cat "$folder/daemon.log" >&2
fail "The daemon ended by itself."
