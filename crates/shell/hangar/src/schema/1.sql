-- 0x45594153, the letters "EYAS".
PRAGMA application_id = 1163477331;

CREATE TABLE aircraft (
    id   INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE
) STRICT;

-- The text of an aircraft file, byte for byte. `parent`: the revision whose text this one was made from.
CREATE TABLE revision (
    id            INTEGER PRIMARY KEY,
    aircraft      INTEGER NOT NULL REFERENCES aircraft (id),
    number        INTEGER NOT NULL CHECK (number >= 1),
    text          BLOB NOT NULL,
    sha256        TEXT NOT NULL CHECK (length(sha256) = 64),
    at_ms         INTEGER NOT NULL,
    note          TEXT NOT NULL,
    from_findings INTEGER REFERENCES findings (id),
    parent        INTEGER REFERENCES revision (id),
    UNIQUE (aircraft, number)
) STRICT;

-- A recording as it came: `bytes` are the original ones in one zstd frame, `size` and `sha256` are of the original.
CREATE TABLE recording (
    id          INTEGER PRIMARY KEY,
    aircraft    INTEGER NOT NULL REFERENCES aircraft (id),
    revision    INTEGER NOT NULL REFERENCES revision (id),
    bytes       BLOB NOT NULL,
    sha256      TEXT NOT NULL CHECK (length(sha256) = 64),
    size        INTEGER NOT NULL CHECK (size >= 0),
    source_name TEXT NOT NULL,
    at_ms       INTEGER NOT NULL,
    note        TEXT NOT NULL,
    UNIQUE (aircraft, sha256)
) STRICT;

-- The column maps that a recording was read with, in the order in which they were used.
CREATE TABLE column_map (
    id        INTEGER PRIMARY KEY,
    recording INTEGER NOT NULL REFERENCES recording (id),
    number    INTEGER NOT NULL CHECK (number >= 1),
    text      BLOB NOT NULL,
    at_ms     INTEGER NOT NULL,
    UNIQUE (recording, number)
) STRICT;

-- What was learnt from a recording, and what it was learnt with.
CREATE TABLE findings (
    id         INTEGER PRIMARY KEY,
    recording  INTEGER NOT NULL REFERENCES recording (id),
    revision   INTEGER NOT NULL REFERENCES revision (id),
    column_map INTEGER NOT NULL REFERENCES column_map (id),
    json       TEXT NOT NULL CHECK (json_valid(json)),
    sha256     TEXT NOT NULL CHECK (length(sha256) = 64),
    version    TEXT NOT NULL,
    at_ms      INTEGER NOT NULL
) STRICT;

CREATE INDEX findings_of_recording ON findings (recording);

-- A card as it was issued.
CREATE TABLE card (
    id       INTEGER PRIMARY KEY,
    revision INTEGER NOT NULL REFERENCES revision (id),
    html     BLOB NOT NULL,
    json     TEXT NOT NULL CHECK (json_valid(json)),
    sha256   TEXT NOT NULL CHECK (length(sha256) = 64),
    version  TEXT NOT NULL,
    at_ms    INTEGER NOT NULL
) STRICT;

CREATE INDEX card_of_revision ON card (revision);

CREATE TRIGGER aircraft_stays BEFORE UPDATE ON aircraft BEGIN SELECT RAISE(ABORT, 'what is kept is not changed'); END;
CREATE TRIGGER aircraft_remains BEFORE DELETE ON aircraft BEGIN SELECT RAISE(ABORT, 'what is kept is not removed'); END;
CREATE TRIGGER revision_stays BEFORE UPDATE ON revision BEGIN SELECT RAISE(ABORT, 'what is kept is not changed'); END;
CREATE TRIGGER revision_remains BEFORE DELETE ON revision BEGIN SELECT RAISE(ABORT, 'what is kept is not removed'); END;
CREATE TRIGGER recording_stays BEFORE UPDATE ON recording BEGIN SELECT RAISE(ABORT, 'what is kept is not changed'); END;
CREATE TRIGGER recording_remains BEFORE DELETE ON recording BEGIN SELECT RAISE(ABORT, 'what is kept is not removed'); END;
CREATE TRIGGER column_map_stays BEFORE UPDATE ON column_map BEGIN SELECT RAISE(ABORT, 'what is kept is not changed'); END;
CREATE TRIGGER column_map_remains BEFORE DELETE ON column_map BEGIN SELECT RAISE(ABORT, 'what is kept is not removed'); END;
CREATE TRIGGER findings_stay BEFORE UPDATE ON findings BEGIN SELECT RAISE(ABORT, 'what is kept is not changed'); END;
CREATE TRIGGER findings_remain BEFORE DELETE ON findings BEGIN SELECT RAISE(ABORT, 'what is kept is not removed'); END;
CREATE TRIGGER card_stays BEFORE UPDATE ON card BEGIN SELECT RAISE(ABORT, 'what is kept is not changed'); END;
CREATE TRIGGER card_remains BEFORE DELETE ON card BEGIN SELECT RAISE(ABORT, 'what is kept is not removed'); END;
