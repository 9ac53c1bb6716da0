-- Incubation. Temperatures in degrees Celsius, masses in grams, lengths in millimetres.

CREATE TABLE container (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  version INTEGER NOT NULL DEFAULT 1,
  label TEXT NOT NULL UNIQUE COLLATE NOCASE,
  profile TEXT,                                      -- key of a species profile; NULL: the site's animal
  medium TEXT,
  dry_g REAL,
  water_g REAL,
  start_g REAL,                                      -- the whole box, weighed when it was set up
  incubator TEXT COLLATE NOCASE,
  shelf TEXT,
  set_up_at TEXT NOT NULL,
  note TEXT
) STRICT;

CREATE TABLE egg (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  version INTEGER NOT NULL DEFAULT 1,
  clutch INTEGER NOT NULL REFERENCES clutch (id),
  container INTEGER NOT NULL REFERENCES container (id),
  position TEXT NOT NULL COLLATE NOCASE,
  top_marked INTEGER,                                -- NULL: not said
  put_at TEXT NOT NULL,
  UNIQUE (container, position)
) STRICT;
CREATE INDEX egg_clutch ON egg (clutch);

CREATE TABLE probe (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  version INTEGER NOT NULL DEFAULT 1,
  name TEXT NOT NULL UNIQUE COLLATE NOCASE,
  container INTEGER REFERENCES container (id),
  incubator TEXT COLLATE NOCASE,
  lies TEXT CHECK (lies IN ('substrate', 'air')),
  note TEXT
) STRICT;

-- Readings taken in together are one row: it is undone and kept in the journal as one thing.
CREATE TABLE readings (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  version INTEGER NOT NULL DEFAULT 1,
  probe INTEGER NOT NULL REFERENCES probe (id),
  file TEXT,                                         -- its name; NULL: entered by hand
  how TEXT NOT NULL,                                 -- how the file was read, in words
  count INTEGER NOT NULL,
  starts_at TEXT NOT NULL,
  ends_at TEXT NOT NULL,
  data TEXT NOT NULL                                 -- JSON {"s": seconds since 1970, "c": ..., "h": ...}
) STRICT;
CREATE INDEX readings_probe ON readings (probe, starts_at);

CREATE TABLE inspection (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  version INTEGER NOT NULL DEFAULT 1,
  container INTEGER NOT NULL REFERENCES container (id),
  egg INTEGER REFERENCES egg (id),                   -- NULL: the whole box
  at TEXT NOT NULL,
  saw TEXT NOT NULL,
  note TEXT
) STRICT;
CREATE INDEX inspection_container ON inspection (container, at);

CREATE TABLE weighing (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  version INTEGER NOT NULL DEFAULT 1,
  container INTEGER NOT NULL REFERENCES container (id),
  at TEXT NOT NULL,
  total_g REAL NOT NULL,                             -- before water was added
  added_g REAL
) STRICT;
CREATE INDEX weighing_container ON weighing (container, at);

CREATE TABLE hatching (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  version INTEGER NOT NULL DEFAULT 1,
  egg INTEGER NOT NULL UNIQUE REFERENCES egg (id),
  at TEXT NOT NULL,
  outcome TEXT NOT NULL CHECK (outcome IN ('alive', 'dead-in-shell', 'infertile', 'lost')),
  mass_g REAL,
  shell_mm REAL,
  name TEXT UNIQUE COLLATE NOCASE,                   -- of the hatchling
  left_at TEXT,                                      -- the incubator, its yolk absorbed
  note TEXT
) STRICT;

CREATE TABLE growth (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  version INTEGER NOT NULL DEFAULT 1,
  hatching INTEGER NOT NULL REFERENCES hatching (id),
  at TEXT NOT NULL,
  mass_g REAL,
  shell_mm REAL,
  note TEXT
) STRICT;
CREATE INDEX growth_hatching ON growth (hatching, at);
