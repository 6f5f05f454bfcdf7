-- The ticks of a card as they came back from the field: a code, as typed.
CREATE TABLE card_ticks (
    id    INTEGER PRIMARY KEY,
    card  INTEGER NOT NULL REFERENCES card (id),
    code  TEXT NOT NULL,
    at_ms INTEGER NOT NULL,
    UNIQUE (card, code)
) STRICT;

CREATE TRIGGER card_ticks_stay BEFORE UPDATE ON card_ticks BEGIN SELECT RAISE(ABORT, 'what is kept is not changed'); END;
CREATE TRIGGER card_ticks_remain BEFORE DELETE ON card_ticks BEGIN SELECT RAISE(ABORT, 'what is kept is not removed'); END;
