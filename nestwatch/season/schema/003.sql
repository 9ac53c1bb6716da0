-- The likelihood fitted to the keeper's own finds. The newest row is in force; none: as the program was built.

ALTER TABLE dig ADD COLUMN likelihood_as_built REAL; -- NULL: likelihood is as built

CREATE TABLE likelihood_fit (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  version INTEGER NOT NULL DEFAULT 1,
  fitted_at TEXT NOT NULL,
  slope REAL NOT NULL CHECK (slope > 0),             -- log odds become slope times log odds plus offset
  offset REAL NOT NULL,
  finds INTEGER NOT NULL,
  with_eggs INTEGER NOT NULL,
  nights INTEGER NOT NULL,                           -- that the finds are of
  brier_before REAL NOT NULL,                        -- of the likelihoods as built
  brier_after REAL NOT NULL,                         -- each night judged by a fit without it
  program TEXT NOT NULL                              -- version of nestwatch that fitted it
) STRICT;
