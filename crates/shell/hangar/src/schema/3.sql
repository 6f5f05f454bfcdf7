-- A file of the controller's settings as it came, byte for byte.
CREATE TABLE settings (
    id          INTEGER PRIMARY KEY,
    aircraft    INTEGER NOT NULL REFERENCES aircraft (id),
    number      INTEGER NOT NULL CHECK (number >= 1),
    bytes       BLOB NOT NULL,
    sha256      TEXT NOT NULL CHECK (length(sha256) = 64),
    source_name TEXT NOT NULL,
    at_ms       INTEGER NOT NULL,
    note        TEXT NOT NULL,
    UNIQUE (aircraft, number)
) STRICT;

-- Something wrong with an aircraft. `place`: which part of it, a word of the program's own list.
CREATE TABLE defect (
    id       INTEGER PRIMARY KEY,
    aircraft INTEGER NOT NULL REFERENCES aircraft (id),
    place    TEXT NOT NULL,
    what     TEXT NOT NULL,
    grounds  INTEGER NOT NULL CHECK (grounds IN (0, 1)),
    told_by  TEXT NOT NULL,
    at_ms    INTEGER NOT NULL
) STRICT;

CREATE INDEX defect_of_aircraft ON defect (aircraft);

-- How a defect was closed, once.
CREATE TABLE defect_closed (
    id      INTEGER PRIMARY KEY,
    defect  INTEGER NOT NULL UNIQUE REFERENCES defect (id),
    repair  TEXT NOT NULL,
    done    TEXT NOT NULL,
    done_by TEXT NOT NULL,
    at_ms   INTEGER NOT NULL
) STRICT;

-- A part to order, and its arrival, once.
CREATE TABLE part (
    id       INTEGER PRIMARY KEY,
    aircraft INTEGER NOT NULL REFERENCES aircraft (id),
    defect   INTEGER REFERENCES defect (id),
    what     TEXT NOT NULL,
    at_ms    INTEGER NOT NULL
) STRICT;

CREATE INDEX part_of_aircraft ON part (aircraft);

CREATE TABLE part_here (
    id    INTEGER PRIMARY KEY,
    part  INTEGER NOT NULL UNIQUE REFERENCES part (id),
    at_ms INTEGER NOT NULL
) STRICT;

-- A line of the airframe's and the pack's log: flown, charged or measured.
CREATE TABLE log_entry (
    id             INTEGER PRIMARY KEY,
    aircraft       INTEGER NOT NULL REFERENCES aircraft (id),
    recording      INTEGER REFERENCES recording (id),
    pack           TEXT NOT NULL,
    flown_s        REAL CHECK (flown_s >= 0),
    landings       INTEGER CHECK (landings >= 0),
    used_as        REAL CHECK (used_as >= 0),
    resistance_ohm REAL CHECK (resistance_ohm >= 0),
    note           TEXT NOT NULL,
    at_ms          INTEGER NOT NULL
) STRICT;

CREATE INDEX log_of_aircraft ON log_entry (aircraft);

-- Counts over a findings document, so that a list of a thousand flights need not read a thousand documents. Worked out
-- from the document in the step that keeps it.
CREATE TABLE findings_count (
    findings  INTEGER PRIMARY KEY REFERENCES findings (id),
    estimates INTEGER NOT NULL,
    enough    INTEGER NOT NULL,
    changes   INTEGER NOT NULL
) STRICT;

INSERT INTO findings_count (findings, estimates, enough, changes)
SELECT id,
       (SELECT count(*) FROM json_tree(f.json) WHERE key = 'enough'),
       (SELECT count(*) FROM json_tree(f.json) WHERE key = 'enough' AND type = 'true'),
       coalesce(json_array_length(f.json, '$.changes'), 0)
FROM findings f;

CREATE INDEX recording_of_aircraft ON recording (aircraft);
CREATE INDEX revision_of_findings ON revision (from_findings);

CREATE TRIGGER settings_stay BEFORE UPDATE ON settings BEGIN SELECT RAISE(ABORT, 'what is kept is not changed'); END;
CREATE TRIGGER settings_remain BEFORE DELETE ON settings BEGIN SELECT RAISE(ABORT, 'what is kept is not removed'); END;
CREATE TRIGGER defect_stays BEFORE UPDATE ON defect BEGIN SELECT RAISE(ABORT, 'what is kept is not changed'); END;
CREATE TRIGGER defect_remains BEFORE DELETE ON defect BEGIN SELECT RAISE(ABORT, 'what is kept is not removed'); END;
CREATE TRIGGER defect_closed_stays BEFORE UPDATE ON defect_closed BEGIN SELECT RAISE(ABORT, 'what is kept is not changed'); END;
CREATE TRIGGER defect_closed_remains BEFORE DELETE ON defect_closed BEGIN SELECT RAISE(ABORT, 'what is kept is not removed'); END;
CREATE TRIGGER part_stays BEFORE UPDATE ON part BEGIN SELECT RAISE(ABORT, 'what is kept is not changed'); END;
CREATE TRIGGER part_remains BEFORE DELETE ON part BEGIN SELECT RAISE(ABORT, 'what is kept is not removed'); END;
CREATE TRIGGER part_here_stays BEFORE UPDATE ON part_here BEGIN SELECT RAISE(ABORT, 'what is kept is not changed'); END;
CREATE TRIGGER part_here_remains BEFORE DELETE ON part_here BEGIN SELECT RAISE(ABORT, 'what is kept is not removed'); END;
CREATE TRIGGER log_entry_stays BEFORE UPDATE ON log_entry BEGIN SELECT RAISE(ABORT, 'what is kept is not changed'); END;
CREATE TRIGGER log_entry_remains BEFORE DELETE ON log_entry BEGIN SELECT RAISE(ABORT, 'what is kept is not removed'); END;
