-- The coordinate files that an aircraft file of this revision names, byte for byte: without them its text cannot be read.
CREATE TABLE section_file (
    id       INTEGER PRIMARY KEY,
    revision INTEGER NOT NULL REFERENCES revision (id),
    name     TEXT NOT NULL,
    text     BLOB NOT NULL,
    sha256   TEXT NOT NULL CHECK (length(sha256) = 64),
    UNIQUE (revision, name)
) STRICT;

CREATE TRIGGER section_file_stays BEFORE UPDATE ON section_file BEGIN SELECT RAISE(ABORT, 'what is kept is not changed'); END;
CREATE TRIGGER section_file_remains BEFORE DELETE ON section_file BEGIN SELECT RAISE(ABORT, 'what is kept is not removed'); END;
