-- Readiness items as they were signed: what was found, what it had to come to, and how it stood. An empty `signed_by`: nobody
-- gave a name.
CREATE TABLE readiness (
    id        INTEGER PRIMARY KEY,
    revision  INTEGER NOT NULL REFERENCES revision (id),
    place     TEXT NOT NULL,
    item      TEXT NOT NULL,
    value     TEXT NOT NULL,
    verdict   TEXT NOT NULL CHECK (verdict IN ('passed', 'failed', 'open')),
    expected  TEXT NOT NULL,
    signed_by TEXT NOT NULL,
    version   TEXT NOT NULL,
    at_ms     INTEGER NOT NULL
) STRICT;

CREATE INDEX readiness_of_revision ON readiness (revision);

CREATE TRIGGER readiness_stays BEFORE UPDATE ON readiness BEGIN SELECT RAISE(ABORT, 'what is kept is not changed'); END;
CREATE TRIGGER readiness_remains BEFORE DELETE ON readiness BEGIN SELECT RAISE(ABORT, 'what is kept is not removed'); END;
