-- What was done between singing and playing, and what came of it. Rounds of version 1 have none of it.

ALTER TABLE rounds ADD COLUMN misheard INTEGER NOT NULL DEFAULT 0; -- 1: the program heard other notes than were sung, says the player; it counts nowhere
ALTER TABLE rounds ADD COLUMN phrase_name TEXT;                    -- the kept phrase that it is a round of; NULL without
ALTER TABLE rounds ADD COLUMN numbers TEXT;                        -- as the player wrote them down; NULL where the step was left out
ALTER TABLE rounds ADD COLUMN letters TEXT;
ALTER TABLE rounds ADD COLUMN numbers_seconds REAL;                -- that the writing took
ALTER TABLE rounds ADD COLUMN letters_seconds REAL;

-- The first page of any filter is still found in this index alone.
DROP INDEX rounds_page;
CREATE INDEX rounds_page ON rounds (at, id, sang, played, key, deleted_at, misheard);

-- Which links between voice and fingers were compared, where anything was written down; a judgement gives them.
CREATE TABLE links (
    round    INTEGER NOT NULL REFERENCES rounds (id) ON DELETE CASCADE,
    position INTEGER NOT NULL, -- the voice first
    name     TEXT    NOT NULL, -- 'voice', 'ear to numbers', 'numbers to letters', 'letters to fingers'
    joined   INTEGER NOT NULL, -- 1: the step between was left out
    compared INTEGER NOT NULL, -- notes
    failed   INTEGER NOT NULL, -- 0 or 1
    PRIMARY KEY (round, position)
) STRICT, WITHOUT ROWID;

CREATE TABLE link_notes (
    round INTEGER NOT NULL,
    link  INTEGER NOT NULL,
    place INTEGER NOT NULL, -- in the order of the mistakes
    note  INTEGER NOT NULL, -- position of the sung note at which it failed
    PRIMARY KEY (round, link, place),
    FOREIGN KEY (round, link) REFERENCES links (round, position) ON DELETE CASCADE
) STRICT, WITHOUT ROWID;

-- Where each piece of an answer that was played in pieces begins, but the first; none where it was played at once.
CREATE TABLE pieces (
    round    INTEGER NOT NULL REFERENCES rounds (id) ON DELETE CASCADE,
    position INTEGER NOT NULL,
    begins   REAL    NOT NULL, -- s on the answer's clock
    PRIMARY KEY (round, position)
) STRICT, WITHOUT ROWID;

-- How often the player let the program help before the answer; no row where never.
CREATE TABLE helped (
    round      INTEGER PRIMARY KEY REFERENCES rounds (id) ON DELETE CASCADE,
    key        INTEGER NOT NULL, -- heard the key note
    chord      INTEGER NOT NULL, -- heard the chord
    take1      INTEGER NOT NULL, -- heard take 1 again
    take2      INTEGER NOT NULL,
    notes1     INTEGER NOT NULL, -- heard what was understood of take 1
    notes2     INTEGER NOT NULL,
    sung_again INTEGER NOT NULL  -- threw take 2 away and sang it anew
) STRICT;
