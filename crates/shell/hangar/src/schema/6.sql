-- Which card a flight was flown from and in what weather. The newest link of a recording counts. `card`: none where no card
-- was issued for it. `weather`: as people read it; empty where nobody told it.
CREATE TABLE flight_link (
    id        INTEGER PRIMARY KEY,
    recording INTEGER NOT NULL REFERENCES recording (id),
    card      INTEGER REFERENCES card (id),
    weather   TEXT NOT NULL,
    at_ms     INTEGER NOT NULL
) STRICT;

CREATE INDEX link_of_recording ON flight_link (recording, id);

CREATE TRIGGER flight_link_stays BEFORE UPDATE ON flight_link BEGIN SELECT RAISE(ABORT, 'what is kept is not changed'); END;
CREATE TRIGGER flight_link_remains BEFORE DELETE ON flight_link BEGIN SELECT RAISE(ABORT, 'what is kept is not removed'); END;

-- Lists are read from these alone. In the tables themselves the facts of a row stand behind its bytes, and SQLite walks page
-- by page through a recording to come to the date behind it.
CREATE INDEX revision_list ON revision (aircraft, number, id, sha256, at_ms, note, from_findings, parent);
CREATE INDEX recording_list ON recording (aircraft, id, revision, sha256, size, source_name, at_ms, note);
CREATE INDEX findings_list ON findings (recording, id, at_ms);
CREATE INDEX card_list ON card (revision, id, version, at_ms);
CREATE INDEX settings_list ON settings (aircraft, number, sha256, length(bytes), source_name, at_ms, note);
DROP INDEX recording_of_aircraft;
DROP INDEX findings_of_recording;
DROP INDEX card_of_revision;

-- How a findings document is counted, in one place.
CREATE VIEW findings_counted AS
SELECT id AS findings,
       (SELECT count(*) FROM json_tree(f.json) WHERE key = 'enough') AS estimates,
       (SELECT count(*) FROM json_tree(f.json) WHERE key = 'enough' AND type = 'true') AS enough,
       coalesce(json_array_length(f.json, '$.changes'), 0) AS changes
FROM findings f;
