-- What a zone's forecast has learned: one blob, a cache that readings can rebuild in part. What it said over the
-- last 16 days, and so how far off it was, is in it.
CREATE TABLE forecast (
  zone TEXT PRIMARY KEY,
  at_ms INTEGER NOT NULL,
  state BLOB NOT NULL
) STRICT, WITHOUT ROWID;
