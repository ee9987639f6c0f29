-- Times of day are milliseconds since 1970-01-01 UTC; times inside a round are seconds; pitch is a MIDI note number;
-- deviation is in cents; tempo in quarter notes a minute. NULL is "not known".

CREATE TABLE players (
    id   INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE -- '' is a player without a name
) STRICT;

CREATE TABLE rounds (
    id                  INTEGER PRIMARY KEY,
    uid                 TEXT    NOT NULL UNIQUE, -- also the name of its folder
    at                  INTEGER NOT NULL,        -- when take 1 began
    zone_minutes        INTEGER NOT NULL,        -- the clock on the wall was so far ahead of UTC
    sang                INTEGER NOT NULL REFERENCES players (id),
    played              INTEGER NOT NULL REFERENCES players (id),
    key                 TEXT    NOT NULL,        -- 'C minor'
    key_guessed         INTEGER NOT NULL,        -- 0 or 1
    numbering           TEXT    NOT NULL,        -- 'scale' or 'altered': what degree counts
    instrument          TEXT    NOT NULL,        -- 'keys' or 'guitar'
    chart               TEXT,                    -- 'Cm7 | Fm7 | G7b9 | Cm7'
    tempo               REAL,
    loop_starts         REAL,                    -- s on the clock of each take
    answer_starts       REAL,                    -- s on the clock of the last take
    same_phrase         INTEGER,                 -- 0 or 1; NULL with one take
    centre_change_cents REAL,                    -- median of |centre| in take 2 less the same in take 1
    spread_change_cents REAL,
    octaves             INTEGER NOT NULL,        -- that the answer lies above the voice
    transposition       INTEGER NOT NULL,        -- semitones besides
    tuning_shift        INTEGER NOT NULL,        -- -1, 0, 1
    voice_cents         REAL    NOT NULL,
    tempo_ratio         REAL    NOT NULL,        -- played seconds per sung second
    label               TEXT    NOT NULL,        -- 'known', 'unsure', 'searched'
    searched            REAL    NOT NULL,        -- probability
    response            REAL,                    -- s
    same                INTEGER NOT NULL,        -- how many notes have each verdict
    different           INTEGER NOT NULL,
    left_out            INTEGER NOT NULL,
    unclear             INTEGER NOT NULL,
    added               INTEGER NOT NULL,
    program             TEXT    NOT NULL,        -- the version that judged it last
    folder              TEXT,                    -- of its files, below the journal's own; NULL where none are kept
    recording           TEXT UNIQUE,             -- the recording it was made from
    deleted_at          INTEGER                  -- NULL where it is not deleted
) STRICT;

-- The first page of any filter is found in this index alone.
CREATE INDEX rounds_page ON rounds (at, id, sang, played, key, deleted_at);

CREATE TABLE takes (
    round        INTEGER NOT NULL REFERENCES rounds (id) ON DELETE CASCADE,
    number       INTEGER NOT NULL, -- 1 or 2; the last one was judged
    name         TEXT    NOT NULL, -- what the player called it
    written      INTEGER NOT NULL, -- 1: notes of a MIDI file, nothing was sung
    duration     REAL    NOT NULL,
    tuning_cents REAL    NOT NULL,
    clarity      REAL    NOT NULL,
    centre_cents REAL,             -- median of |centre| over the clear notes
    spread_cents REAL,             -- median of spread over the clear notes
    PRIMARY KEY (round, number)
) STRICT, WITHOUT ROWID;

-- Sung notes. Those of the last take are as they were matched: where take 1 had a say, its say is in them.
CREATE TABLE notes (
    round        INTEGER NOT NULL,
    take         INTEGER NOT NULL,
    position     INTEGER NOT NULL, -- from 0
    onset        REAL    NOT NULL,
    "offset"     REAL    NOT NULL,
    pitch        REAL    NOT NULL, -- as it sounded
    semitone     INTEGER NOT NULL,
    degree       TEXT    NOT NULL,
    step         INTEGER,          -- semitones from the note before; NULL where that or this is unclear
    centre_cents REAL    NOT NULL,
    spread_cents REAL    NOT NULL,
    level_dbfs   REAL,
    confidence   REAL    NOT NULL,
    unclear      INTEGER NOT NULL,
    verdict      TEXT,             -- 'same', 'different', 'unclear', 'left out'; NULL in a take that was not judged
    answered     INTEGER,          -- position of the played note beside it
    PRIMARY KEY (round, take, position),
    FOREIGN KEY (round, take) REFERENCES takes (round, number) ON DELETE CASCADE
) STRICT, WITHOUT ROWID;

CREATE TABLE answer_notes (
    round    INTEGER NOT NULL REFERENCES rounds (id) ON DELETE CASCADE,
    position INTEGER NOT NULL,
    onset    REAL    NOT NULL,
    "offset" REAL    NOT NULL,
    released REAL    NOT NULL,
    key      INTEGER NOT NULL, -- 0 to 127
    pitch    REAL    NOT NULL, -- as it sounded, pitch bend included
    degree   TEXT    NOT NULL,
    velocity INTEGER NOT NULL,
    channel  INTEGER NOT NULL,
    PRIMARY KEY (round, position)
) STRICT, WITHOUT ROWID;

CREATE TABLE evidence (
    round    INTEGER NOT NULL REFERENCES rounds (id) ON DELETE CASCADE,
    position INTEGER NOT NULL,
    kind     TEXT    NOT NULL, -- 'correction', 'creep', 'hesitation', 'restart', 'touch'
    onset    REAL    NOT NULL, -- on the answer's clock
    "offset" REAL    NOT NULL,
    target   INTEGER,          -- position of the sung note that it leads to
    weight   REAL    NOT NULL, -- log-odds
    text     TEXT    NOT NULL,
    PRIMARY KEY (round, position)
) STRICT, WITHOUT ROWID;

CREATE TABLE evidence_notes (
    round    INTEGER NOT NULL,
    evidence INTEGER NOT NULL,
    played   INTEGER NOT NULL, -- 0: a sung note, 1: a played one
    place    INTEGER NOT NULL, -- in the order in which the evidence names them
    note     INTEGER NOT NULL, -- its position
    PRIMARY KEY (round, evidence, played, place),
    FOREIGN KEY (round, evidence) REFERENCES evidence (round, position) ON DELETE CASCADE
) STRICT, WITHOUT ROWID;

CREATE TABLE files (
    round  INTEGER NOT NULL REFERENCES rounds (id) ON DELETE CASCADE,
    name   TEXT    NOT NULL, -- 'take1.flac', 'take2.flac', 'answer.mid'
    bytes  INTEGER NOT NULL,
    sha256 TEXT    NOT NULL, -- hexadecimal
    PRIMARY KEY (round, name)
) STRICT, WITHOUT ROWID;

-- Every judgement a round ever had, the last one being what the tables above hold.
CREATE TABLE judgements (
    id        INTEGER PRIMARY KEY,
    round     INTEGER NOT NULL REFERENCES rounds (id) ON DELETE CASCADE,
    at        INTEGER NOT NULL,
    program   TEXT    NOT NULL,
    label     TEXT    NOT NULL,
    searched  REAL    NOT NULL,
    same      INTEGER NOT NULL,
    different INTEGER NOT NULL,
    left_out  INTEGER NOT NULL,
    unclear   INTEGER NOT NULL,
    added     INTEGER NOT NULL,
    document  BLOB    NOT NULL -- JSON, packed by gzip
) STRICT;

CREATE INDEX judgements_round ON judgements (round);

-- What progress needs of each round, packed and in the order of time. It holds nothing that the tables above do not,
-- and is made anew from them where it is missing.
CREATE TABLE digests (
    player INTEGER NOT NULL REFERENCES players (id),
    at     INTEGER NOT NULL,
    round  INTEGER NOT NULL REFERENCES rounds (id) ON DELETE CASCADE,
    digest BLOB    NOT NULL,
    PRIMARY KEY (player, at, round)
) STRICT, WITHOUT ROWID;

CREATE INDEX digests_round ON digests (round);
