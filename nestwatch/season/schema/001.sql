-- Instants are ISO 8601 in UTC with seconds and a Z; dates are those of the evening; lists and objects are JSON.
-- AUTOINCREMENT: the number of a removed row is never used again, so the journal tells entries apart.
-- Every table a keeper writes to has `version`, which counts its changes: what was shown as version 3 is
-- changed only while it is still version 3.

CREATE TABLE action (
  id INTEGER PRIMARY KEY,
  at TEXT NOT NULL,                                  -- with microseconds
  by TEXT NOT NULL CHECK (by IN ('keeper', 'scan')),
  words TEXT NOT NULL,                               -- what was done, as the keeper is told
  undoes INTEGER REFERENCES action (id),
  under_way INTEGER NOT NULL DEFAULT 1               -- 1 only inside its own transaction
) STRICT;
CREATE UNIQUE INDEX action_under_way ON action (under_way) WHERE under_way = 1;
CREATE INDEX action_undoes ON action (undoes) WHERE undoes IS NOT NULL;

-- Filled by triggers. A write outside an action fails: there is no action under way to name.
CREATE TABLE change (
  id INTEGER PRIMARY KEY,
  action INTEGER NOT NULL REFERENCES action (id),
  entry TEXT NOT NULL,                               -- the table
  row INTEGER NOT NULL,
  before TEXT                                        -- the row as JSON; NULL where there was none
) STRICT;
CREATE INDEX change_action ON change (action);
CREATE INDEX change_row ON change (entry, row, id);

CREATE TABLE night (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  version INTEGER NOT NULL DEFAULT 1,
  date TEXT NOT NULL UNIQUE,
  starts_at TEXT NOT NULL,
  ends_at TEXT NOT NULL,
  scanned_at TEXT,                                   -- NULL: never scanned, only watched or entered by hand
  program TEXT,                                      -- version of nestwatch that scanned it
  folder TEXT,                                       -- of the night; relative to the site's folder if inside it
  stamp TEXT,                                        -- tells whether the night file is still the one taken in
  nesting_from TEXT,
  nesting_to TEXT,
  raids TEXT NOT NULL DEFAULT '[]',
  clocks TEXT NOT NULL DEFAULT '[]',
  not_seen TEXT NOT NULL DEFAULT '[]'
) STRICT;

CREATE TABLE footage (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  version INTEGER NOT NULL DEFAULT 1,
  night INTEGER NOT NULL REFERENCES night (id),
  camera TEXT NOT NULL,
  starts_at TEXT NOT NULL,
  ends_at TEXT NOT NULL,
  seconds_expected REAL NOT NULL,
  seconds_read REAL NOT NULL,
  nesting_seconds_expected REAL,
  nesting_seconds_read REAL,
  looked_min REAL,                                   -- minutes of nesting hours clear enough to judge
  zone_seen TEXT,
  gaps TEXT NOT NULL,
  health TEXT NOT NULL,
  unreadable TEXT NOT NULL,
  notes TEXT NOT NULL,
  UNIQUE (night, camera)
) STRICT;

CREATE TABLE dig (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  version INTEGER NOT NULL DEFAULT 1,
  night INTEGER NOT NULL REFERENCES night (id),
  source TEXT NOT NULL CHECK (source IN ('scan', 'footage', 'eye', 'found')),
  listed INTEGER NOT NULL,                           -- 1: in the night's latest scan
  rank INTEGER,                                      -- in that scan
  rank_before INTEGER,                               -- in the scan before it
  letter TEXT,                                       -- what it is called where it has no rank
  camera TEXT,
  cameras TEXT NOT NULL DEFAULT '[]',
  zone TEXT,
  pen TEXT,
  starts_at TEXT NOT NULL,
  ends_at TEXT NOT NULL,
  call TEXT CHECK (call IN ('nest', 'trial', 'rest', 'unclear')),
  likelihood REAL,
  in_nesting_hours INTEGER,
  pixel_x REAL,
  pixel_y REAL,
  within_px REAL,
  plan_x REAL,                                       -- metres
  plan_y REAL,
  within_m REAL,
  shell_length_cm REAL,
  reasons TEXT NOT NULL DEFAULT '[]',
  stages TEXT NOT NULL DEFAULT '[]',
  tape TEXT NOT NULL DEFAULT '[]',
  pictures TEXT NOT NULL DEFAULT '{}',               -- relative to the night's folder
  clip TEXT,
  note TEXT,
  UNIQUE (night, letter)
) STRICT;
CREATE INDEX dig_night ON dig (night, rank);
CREATE INDEX dig_call ON dig (night) WHERE listed = 1 AND call <> 'rest';

CREATE TABLE find (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  version INTEGER NOT NULL DEFAULT 1,
  dig INTEGER NOT NULL UNIQUE REFERENCES dig (id),
  found TEXT NOT NULL CHECK (found IN ('eggs', 'empty', 'not-yet', 'set-aside')),
  why TEXT,
  entered_at TEXT NOT NULL
) STRICT;
CREATE INDEX find_open ON find (found) WHERE found = 'not-yet';

CREATE TABLE female (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  version INTEGER NOT NULL DEFAULT 1,
  name TEXT NOT NULL UNIQUE COLLATE NOCASE,
  marks TEXT,                                        -- notches or other marks, in words
  shell_length_cm REAL,
  photograph TEXT,                                   -- relative to the site's folder
  note TEXT
) STRICT;

CREATE TABLE clutch (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  version INTEGER NOT NULL DEFAULT 1,
  dig INTEGER NOT NULL UNIQUE REFERENCES dig (id),
  female INTEGER REFERENCES female (id),
  laid_at TEXT,                                      -- as the keeper says; NULL: as the dig says
  lifted_at TEXT,                                    -- NULL: still in the ground, as far as is known
  whole INTEGER,                                     -- eggs; NULL: not counted
  dented INTEGER,
  cracked INTEGER,
  broken INTEGER,
  note TEXT
) STRICT;
CREATE INDEX clutch_female ON clutch (female);

CREATE TABLE watched (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  version INTEGER NOT NULL DEFAULT 1,
  night INTEGER NOT NULL REFERENCES night (id),
  pen TEXT,                                          -- NULL: all pens
  starts_at TEXT NOT NULL,
  ends_at TEXT NOT NULL,
  who TEXT,
  note TEXT
) STRICT;
CREATE INDEX watched_night ON watched (night);
