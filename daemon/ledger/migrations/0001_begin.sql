-- Moments are UTC milliseconds. Codes are listed in daemon/ledger/codes.cpp.

CREATE TABLE property (
  name TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- What people said. Appended only; a mistake is struck by a later entry.
CREATE TABLE entry (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  kind TEXT NOT NULL,
  piece TEXT NOT NULL,
  said_at_ms INTEGER NOT NULL,
  happened_at_ms INTEGER NOT NULL,
  happened_error_ms INTEGER NOT NULL,
  body TEXT NOT NULL
) STRICT;
CREATE TRIGGER entry_is_never_changed BEFORE UPDATE ON entry
  BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END;
CREATE TRIGGER entry_is_never_deleted BEFORE DELETE ON entry
  BEGIN SELECT RAISE(ABORT, 'entries are never deleted'); END;

CREATE TABLE edition (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  sheet TEXT NOT NULL,
  sha256 TEXT NOT NULL,
  text TEXT NOT NULL,
  loaded_at_ms INTEGER NOT NULL,
  UNIQUE (sheet, sha256)
) STRICT;

CREATE TABLE channel (
  number INTEGER PRIMARY KEY AUTOINCREMENT,
  id TEXT NOT NULL UNIQUE
) STRICT;

CREATE TABLE topic (
  number INTEGER PRIMARY KEY AUTOINCREMENT,
  text TEXT NOT NULL UNIQUE
) STRICT;

CREATE TABLE reading (
  channel INTEGER NOT NULL REFERENCES channel (number),
  measured_ms INTEGER NOT NULL,
  lag_ms INTEGER NOT NULL,      -- received less measured
  nth INTEGER NOT NULL,         -- of those that share both times
  value REAL NOT NULL,          -- degrees C, % RH, 1 or 0
  number REAL,                  -- as sent; NULL = the same as value
  facts INTEGER NOT NULL,       -- time quality, flags, unit and refusal of the decoding
  verdict INTEGER NOT NULL,     -- quality, judged, refusal of the screening
  topic INTEGER NOT NULL REFERENCES topic (number),
  seq INTEGER,
  uptime REAL,                  -- in the device's own unit
  inbox_row INTEGER NOT NULL,
  PRIMARY KEY (channel, measured_ms, lag_ms, nth)
) STRICT, WITHOUT ROWID;

CREATE TABLE refused (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  source TEXT NOT NULL,
  topic TEXT NOT NULL,
  received_ms INTEGER NOT NULL,
  reason INTEGER NOT NULL,
  payload BLOB NOT NULL,
  payload_size INTEGER NOT NULL
) STRICT;
CREATE INDEX refused_by_source ON refused (source, id);

CREATE TABLE refused_count (
  source TEXT NOT NULL,
  reason INTEGER NOT NULL,
  count INTEGER NOT NULL,
  last_ms INTEGER NOT NULL,
  PRIMARY KEY (source, reason)
) STRICT, WITHOUT ROWID;

CREATE TABLE channel_state (
  channel INTEGER PRIMARY KEY REFERENCES channel (number),
  last_message_ms INTEGER,
  last_good_ms INTEGER,
  last_change_ms INTEGER,
  last_value REAL,
  qos INTEGER,
  battery REAL,
  online INTEGER
) STRICT;

-- One row: how far the inbox has been taken.
CREATE TABLE inbox_mark (
  one INTEGER PRIMARY KEY CHECK (one = 1),
  generation INTEGER NOT NULL,
  taken_upto INTEGER NOT NULL
) STRICT;

-- A cache of clocks.
CREATE TABLE checkpoint (
  coat INTEGER NOT NULL REFERENCES entry (id),
  at_ms INTEGER NOT NULL,
  engine_version INTEGER NOT NULL,
  blob BLOB NOT NULL,
  PRIMARY KEY (coat, at_ms, engine_version)
) STRICT;

CREATE TABLE notice_state (
  subject TEXT NOT NULL,
  kind TEXT NOT NULL,
  state TEXT NOT NULL,
  since_ms INTEGER NOT NULL,
  last_told_ms INTEGER,
  generation INTEGER NOT NULL,
  extra TEXT NOT NULL,
  PRIMARY KEY (subject, kind)
) STRICT, WITHOUT ROWID;

CREATE TABLE notice (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  subject TEXT NOT NULL,
  kind TEXT NOT NULL,
  piece TEXT NOT NULL,
  title TEXT NOT NULL,
  body TEXT NOT NULL,
  extra TEXT NOT NULL,
  generation INTEGER NOT NULL,
  created_ms INTEGER NOT NULL,
  seen_ms INTEGER,
  closed_ms INTEGER
) STRICT;
CREATE INDEX notice_open ON notice (subject, kind) WHERE seen_ms IS NULL AND closed_ms IS NULL;

CREATE TABLE parcel (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  route TEXT NOT NULL,
  idempotency_id TEXT NOT NULL,
  body TEXT NOT NULL,
  created_ms INTEGER NOT NULL,
  collapse_key TEXT NOT NULL,
  drop_after_ms INTEGER,
  state INTEGER NOT NULL,
  attempts INTEGER NOT NULL,
  next_try_ms INTEGER NOT NULL,
  settled_ms INTEGER,
  last_error TEXT NOT NULL,
  UNIQUE (route, idempotency_id)
) STRICT;
CREATE INDEX parcel_waiting ON parcel (route, id) WHERE state = 0;
CREATE INDEX parcel_by_telling ON parcel (idempotency_id);

CREATE TABLE memo (
  key TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT, WITHOUT ROWID;
