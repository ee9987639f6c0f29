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
, misheard INTEGER NOT NULL DEFAULT 0, phrase_name TEXT, numbers TEXT, letters TEXT, numbers_seconds REAL, letters_seconds REAL) STRICT;
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
CREATE TABLE digests (
    player INTEGER NOT NULL REFERENCES players (id),
    at     INTEGER NOT NULL,
    round  INTEGER NOT NULL REFERENCES rounds (id) ON DELETE CASCADE,
    digest BLOB    NOT NULL,
    PRIMARY KEY (player, at, round)
) STRICT, WITHOUT ROWID;
CREATE INDEX digests_round ON digests (round);
CREATE INDEX rounds_page ON rounds (at, id, sang, played, key, deleted_at, misheard);
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
CREATE TABLE pieces (
    round    INTEGER NOT NULL REFERENCES rounds (id) ON DELETE CASCADE,
    position INTEGER NOT NULL,
    begins   REAL    NOT NULL, -- s on the answer's clock
    PRIMARY KEY (round, position)
) STRICT, WITHOUT ROWID;
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
INSERT INTO players VALUES (1,'Miravel');
INSERT INTO players VALUES (2,'Tobrin');
INSERT INTO players VALUES (3,'Sorel');
INSERT INTO rounds VALUES (1,'20260302-183000-5d7003e3',1772472600000,60,1,2,'C minor',0,'scale','keys','Cm7 | Fm7 | G7b9 | Cm7',96.0,0.25,5.0,1,-5.0,0.0,0,0,0,0.0,1.0,'searched',0.99822704540520779,1.42,7,0,0,0,2,'v2',NULL,NULL,NULL,0,NULL,NULL,NULL,NULL,NULL);
INSERT INTO rounds VALUES (2,'20260302-193000-60f99103',1772476200000,60,2,2,'F minor',0,'scale','keys','Cm7 | Fm7 | G7b9 | Cm7',96.0,0.25,5.0,1,-5.0,0.0,0,0,0,0.0,1.0,'known',0.11920292202211755,1.42,7,0,0,0,0,'v1',NULL,NULL,NULL,0,NULL,NULL,NULL,NULL,NULL);
INSERT INTO rounds VALUES (3,'20260302-203000-9f522e55',1772479800000,60,1,2,'C minor',0,'scale','keys','Cm7 | Fm7 | G7b9 | Cm7',96.0,0.25,5.0,1,-5.0,0.0,0,0,0,0.0,1.0,'known',0.11920292202211755,1.42,7,0,0,0,0,'v1',NULL,NULL,1796073943278,0,NULL,NULL,NULL,NULL,NULL);
INSERT INTO rounds VALUES (4,'20260302-173000-3bea09cb',1772469000000,60,3,3,'C minor',0,'scale','keys','Cm7 | Fm7 | G7b9 | Cm7',96.0,0.25,5.0,1,-5.0,0.0,0,0,0,0.0,1.0,'known',0.11920292202211755,1.42,7,0,0,0,0,'v1',NULL,NULL,NULL,0,'Rain on the roof','1 2 5 4 3 2 1','c eb g f e d c',7.5,NULL);
INSERT INTO rounds VALUES (5,'20260302-163000-5c5b1910',1772465400000,60,3,3,'C minor',0,'scale','keys','Cm7 | Fm7 | G7b9 | Cm7',96.0,0.25,5.0,1,-5.0,0.0,0,0,0,0.0,1.0,'known',0.11920292202211755,1.42,7,0,0,0,0,'v1',NULL,NULL,NULL,1,'Rain on the roof','1 2 5 4 3 2 1','c eb g f e d c',7.5,NULL);
INSERT INTO takes VALUES (1,1,'take1.wav',0,4.2,0.0,1.0,9.0,13.0);
INSERT INTO takes VALUES (1,2,'take2.wav',0,4.2,0.0,1.0,4.0,13.0);
INSERT INTO takes VALUES (2,1,'take1.wav',0,4.2,0.0,1.0,9.0,13.0);
INSERT INTO takes VALUES (2,2,'take2.wav',0,4.2,0.0,1.0,4.0,13.0);
INSERT INTO takes VALUES (3,1,'take1.wav',0,4.2,0.0,1.0,9.0,13.0);
INSERT INTO takes VALUES (3,2,'take2.wav',0,4.2,0.0,1.0,4.0,13.0);
INSERT INTO takes VALUES (4,1,'take1.wav',0,4.2,0.0,1.0,9.0,13.0);
INSERT INTO takes VALUES (4,2,'take2.wav',0,4.2,0.0,1.0,4.0,13.0);
INSERT INTO takes VALUES (5,1,'take1.wav',0,4.2,0.0,1.0,9.0,13.0);
INSERT INTO takes VALUES (5,2,'take2.wav',0,4.2,0.0,1.0,4.0,13.0);
INSERT INTO notes VALUES (1,1,0,0.5,0.88,60.09,60,'1',NULL,9.0,10.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (1,1,1,0.95,1.33,63.09,63,'3',3,9.0,11.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (1,1,2,1.4,1.7799999999999998,67.09,67,'5',4,9.0,12.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (1,1,3,1.85,2.23,65.09,65,'4',-2,9.0,13.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (1,1,4,2.3,2.6799999999999997,63.09,63,'3',-2,9.0,14.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (1,1,5,2.75,3.13,62.09,62,'2',-1,9.0,15.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (1,1,6,3.2,3.58,60.09,60,'1',-2,9.0,16.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (1,2,0,0.5,0.88,59.96,60,'1',NULL,-4.0,10.0,-20.0,0.98,0,'same',0);
INSERT INTO notes VALUES (1,2,1,0.95,1.33,62.96,63,'3',3,-4.0,11.0,-20.0,0.98,0,'same',1);
INSERT INTO notes VALUES (1,2,2,1.4,1.7799999999999998,66.96,67,'5',4,-4.0,12.0,-20.0,0.98,0,'same',4);
INSERT INTO notes VALUES (1,2,3,1.85,2.23,64.96,65,'4',-2,-4.0,13.0,-20.0,0.98,0,'same',5);
INSERT INTO notes VALUES (1,2,4,2.3,2.6799999999999997,62.96,63,'3',-2,-4.0,14.0,-20.0,0.98,0,'same',6);
INSERT INTO notes VALUES (1,2,5,2.75,3.13,61.96,62,'2',-1,-4.0,15.0,-20.0,0.98,0,'same',7);
INSERT INTO notes VALUES (1,2,6,3.2,3.58,59.96,60,'1',-2,-4.0,16.0,-20.0,0.98,0,'same',8);
INSERT INTO notes VALUES (2,1,0,0.5,0.88,60.09,60,'5',NULL,9.0,10.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (2,1,1,0.95,1.33,63.09,63,'7',3,9.0,11.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (2,1,2,1.4,1.7799999999999998,67.09,67,'2',4,9.0,12.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (2,1,3,1.85,2.23,65.09,65,'1',-2,9.0,13.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (2,1,4,2.3,2.6799999999999997,63.09,63,'7',-2,9.0,14.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (2,1,5,2.75,3.13,62.09,62,'#6',-1,9.0,15.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (2,1,6,3.2,3.58,60.09,60,'5',-2,9.0,16.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (2,2,0,0.5,0.88,59.96,60,'5',NULL,-4.0,10.0,-20.0,0.98,0,'same',0);
INSERT INTO notes VALUES (2,2,1,0.95,1.33,62.96,63,'7',3,-4.0,11.0,-20.0,0.98,0,'same',1);
INSERT INTO notes VALUES (2,2,2,1.4,1.7799999999999998,66.96,67,'2',4,-4.0,12.0,-20.0,0.98,0,'same',2);
INSERT INTO notes VALUES (2,2,3,1.85,2.23,64.96,65,'1',-2,-4.0,13.0,-20.0,0.98,0,'same',3);
INSERT INTO notes VALUES (2,2,4,2.3,2.6799999999999997,62.96,63,'7',-2,-4.0,14.0,-20.0,0.98,0,'same',4);
INSERT INTO notes VALUES (2,2,5,2.75,3.13,61.96,62,'#6',-1,-4.0,15.0,-20.0,0.98,0,'same',5);
INSERT INTO notes VALUES (2,2,6,3.2,3.58,59.96,60,'5',-2,-4.0,16.0,-20.0,0.98,0,'same',6);
INSERT INTO notes VALUES (3,1,0,0.5,0.88,60.09,60,'1',NULL,9.0,10.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (3,1,1,0.95,1.33,63.09,63,'3',3,9.0,11.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (3,1,2,1.4,1.7799999999999998,67.09,67,'5',4,9.0,12.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (3,1,3,1.85,2.23,65.09,65,'4',-2,9.0,13.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (3,1,4,2.3,2.6799999999999997,63.09,63,'3',-2,9.0,14.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (3,1,5,2.75,3.13,62.09,62,'2',-1,9.0,15.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (3,1,6,3.2,3.58,60.09,60,'1',-2,9.0,16.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (3,2,0,0.5,0.88,59.96,60,'1',NULL,-4.0,10.0,-20.0,0.98,0,'same',0);
INSERT INTO notes VALUES (3,2,1,0.95,1.33,62.96,63,'3',3,-4.0,11.0,-20.0,0.98,0,'same',1);
INSERT INTO notes VALUES (3,2,2,1.4,1.7799999999999998,66.96,67,'5',4,-4.0,12.0,-20.0,0.98,0,'same',2);
INSERT INTO notes VALUES (3,2,3,1.85,2.23,64.96,65,'4',-2,-4.0,13.0,-20.0,0.98,0,'same',3);
INSERT INTO notes VALUES (3,2,4,2.3,2.6799999999999997,62.96,63,'3',-2,-4.0,14.0,-20.0,0.98,0,'same',4);
INSERT INTO notes VALUES (3,2,5,2.75,3.13,61.96,62,'2',-1,-4.0,15.0,-20.0,0.98,0,'same',5);
INSERT INTO notes VALUES (3,2,6,3.2,3.58,59.96,60,'1',-2,-4.0,16.0,-20.0,0.98,0,'same',6);
INSERT INTO notes VALUES (4,1,0,0.5,0.88,60.09,60,'1',NULL,9.0,10.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (4,1,1,0.95,1.33,63.09,63,'3',3,9.0,11.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (4,1,2,1.4,1.7799999999999998,67.09,67,'5',4,9.0,12.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (4,1,3,1.85,2.23,65.09,65,'4',-2,9.0,13.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (4,1,4,2.3,2.6799999999999997,63.09,63,'3',-2,9.0,14.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (4,1,5,2.75,3.13,62.09,62,'2',-1,9.0,15.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (4,1,6,3.2,3.58,60.09,60,'1',-2,9.0,16.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (4,2,0,0.5,0.88,59.96,60,'1',NULL,-4.0,10.0,-20.0,0.98,0,'same',0);
INSERT INTO notes VALUES (4,2,1,0.95,1.33,62.96,63,'3',3,-4.0,11.0,-20.0,0.98,0,'same',1);
INSERT INTO notes VALUES (4,2,2,1.4,1.7799999999999998,66.96,67,'5',4,-4.0,12.0,-20.0,0.98,0,'same',2);
INSERT INTO notes VALUES (4,2,3,1.85,2.23,64.96,65,'4',-2,-4.0,13.0,-20.0,0.98,0,'same',3);
INSERT INTO notes VALUES (4,2,4,2.3,2.6799999999999997,62.96,63,'3',-2,-4.0,14.0,-20.0,0.98,0,'same',4);
INSERT INTO notes VALUES (4,2,5,2.75,3.13,61.96,62,'2',-1,-4.0,15.0,-20.0,0.98,0,'same',5);
INSERT INTO notes VALUES (4,2,6,3.2,3.58,59.96,60,'1',-2,-4.0,16.0,-20.0,0.98,0,'same',6);
INSERT INTO notes VALUES (5,1,0,0.5,0.88,60.09,60,'1',NULL,9.0,10.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (5,1,1,0.95,1.33,63.09,63,'3',3,9.0,11.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (5,1,2,1.4,1.7799999999999998,67.09,67,'5',4,9.0,12.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (5,1,3,1.85,2.23,65.09,65,'4',-2,9.0,13.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (5,1,4,2.3,2.6799999999999997,63.09,63,'3',-2,9.0,14.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (5,1,5,2.75,3.13,62.09,62,'2',-1,9.0,15.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (5,1,6,3.2,3.58,60.09,60,'1',-2,9.0,16.0,-20.0,0.98,0,NULL,NULL);
INSERT INTO notes VALUES (5,2,0,0.5,0.88,59.96,60,'1',NULL,-4.0,10.0,-20.0,0.98,0,'same',0);
INSERT INTO notes VALUES (5,2,1,0.95,1.33,62.96,63,'3',3,-4.0,11.0,-20.0,0.98,0,'same',1);
INSERT INTO notes VALUES (5,2,2,1.4,1.7799999999999998,66.96,67,'5',4,-4.0,12.0,-20.0,0.98,0,'same',2);
INSERT INTO notes VALUES (5,2,3,1.85,2.23,64.96,65,'4',-2,-4.0,13.0,-20.0,0.98,0,'same',3);
INSERT INTO notes VALUES (5,2,4,2.3,2.6799999999999997,62.96,63,'3',-2,-4.0,14.0,-20.0,0.98,0,'same',4);
INSERT INTO notes VALUES (5,2,5,2.75,3.13,61.96,62,'2',-1,-4.0,15.0,-20.0,0.98,0,'same',5);
INSERT INTO notes VALUES (5,2,6,3.2,3.58,59.96,60,'1',-2,-4.0,16.0,-20.0,0.98,0,'same',6);
INSERT INTO answer_notes VALUES (1,0,0.0,0.38,0.38,60,60.0,'1',70,0);
INSERT INTO answer_notes VALUES (1,1,0.45,0.83000000000000007,0.83000000000000007,63,63.0,'3',70,0);
INSERT INTO answer_notes VALUES (1,2,0.9,1.28,1.28,65,65.0,'4',70,0);
INSERT INTO answer_notes VALUES (1,3,1.35,1.73,1.73,66,66.0,'#4',70,0);
INSERT INTO answer_notes VALUES (1,4,1.8,2.18,2.18,67,67.0,'5',70,0);
INSERT INTO answer_notes VALUES (1,5,2.25,2.63,2.63,65,65.0,'4',70,0);
INSERT INTO answer_notes VALUES (1,6,2.7,3.08,3.08,63,63.0,'3',70,0);
INSERT INTO answer_notes VALUES (1,7,3.15,3.53,3.53,62,62.0,'2',70,0);
INSERT INTO answer_notes VALUES (1,8,3.6,3.98,3.98,60,60.0,'1',70,0);
INSERT INTO answer_notes VALUES (2,0,0.0,0.38,0.38,60,60.0,'5',70,0);
INSERT INTO answer_notes VALUES (2,1,0.45,0.83000000000000007,0.83000000000000007,63,63.0,'7',70,0);
INSERT INTO answer_notes VALUES (2,2,0.9,1.28,1.28,67,67.0,'2',70,0);
INSERT INTO answer_notes VALUES (2,3,1.35,1.73,1.73,65,65.0,'1',70,0);
INSERT INTO answer_notes VALUES (2,4,1.8,2.18,2.18,63,63.0,'7',70,0);
INSERT INTO answer_notes VALUES (2,5,2.25,2.63,2.63,62,62.0,'#6',70,0);
INSERT INTO answer_notes VALUES (2,6,2.7,3.08,3.08,60,60.0,'5',70,0);
INSERT INTO answer_notes VALUES (3,0,0.0,0.38,0.38,60,60.0,'1',70,0);
INSERT INTO answer_notes VALUES (3,1,0.45,0.83000000000000007,0.83000000000000007,63,63.0,'3',70,0);
INSERT INTO answer_notes VALUES (3,2,0.9,1.28,1.28,67,67.0,'5',70,0);
INSERT INTO answer_notes VALUES (3,3,1.35,1.73,1.73,65,65.0,'4',70,0);
INSERT INTO answer_notes VALUES (3,4,1.8,2.18,2.18,63,63.0,'3',70,0);
INSERT INTO answer_notes VALUES (3,5,2.25,2.63,2.63,62,62.0,'2',70,0);
INSERT INTO answer_notes VALUES (3,6,2.7,3.08,3.08,60,60.0,'1',70,0);
INSERT INTO answer_notes VALUES (4,0,0.0,0.38,0.38,60,60.0,'1',70,0);
INSERT INTO answer_notes VALUES (4,1,0.45,0.83000000000000007,0.83000000000000007,63,63.0,'3',70,0);
INSERT INTO answer_notes VALUES (4,2,0.9,1.28,1.28,67,67.0,'5',70,0);
INSERT INTO answer_notes VALUES (4,3,1.35,1.73,1.73,65,65.0,'4',70,0);
INSERT INTO answer_notes VALUES (4,4,1.8,2.18,2.18,63,63.0,'3',70,0);
INSERT INTO answer_notes VALUES (4,5,2.25,2.63,2.63,62,62.0,'2',70,0);
INSERT INTO answer_notes VALUES (4,6,2.7,3.08,3.08,60,60.0,'1',70,0);
INSERT INTO answer_notes VALUES (5,0,0.0,0.38,0.38,60,60.0,'1',70,0);
INSERT INTO answer_notes VALUES (5,1,0.45,0.83000000000000007,0.83000000000000007,63,63.0,'3',70,0);
INSERT INTO answer_notes VALUES (5,2,0.9,1.28,1.28,67,67.0,'5',70,0);
INSERT INTO answer_notes VALUES (5,3,1.35,1.73,1.73,65,65.0,'4',70,0);
INSERT INTO answer_notes VALUES (5,4,1.8,2.18,2.18,63,63.0,'3',70,0);
INSERT INTO answer_notes VALUES (5,5,2.25,2.63,2.63,62,62.0,'2',70,0);
INSERT INTO answer_notes VALUES (5,6,2.7,3.08,3.08,60,60.0,'1',70,0);
INSERT INTO evidence VALUES (1,0,'creep',0.9,1.8,2,8.3333333333333339,'You felt your way to the 3rd note over 2 neighbouring keys in 0.9 s.');
INSERT INTO evidence_notes VALUES (1,0,0,0,2);
INSERT INTO evidence_notes VALUES (1,0,1,0,2);
INSERT INTO evidence_notes VALUES (1,0,1,1,3);
INSERT INTO evidence_notes VALUES (1,0,1,2,4);
INSERT INTO judgements VALUES (1,1,1772472600000,'v1','known',0.11920292202211755,7,0,0,0,0,X'1F8B08000000000004FF002100DEFF7B226B6579223A2243206D696E6F72222C226C6162656C223A226B6E6F776E227D010000FFFF54682F1621000000');
INSERT INTO judgements VALUES (2,2,1772476200000,'v1','known',0.11920292202211755,7,0,0,0,0,X'1F8B08000000000004FF002100DEFF7B226B6579223A2246206D696E6F72222C226C6162656C223A226B6E6F776E227D010000FFFFA1B2194821000000');
INSERT INTO judgements VALUES (3,3,1772479800000,'v1','known',0.11920292202211755,7,0,0,0,0,X'1F8B08000000000004FF002100DEFF7B226B6579223A2243206D696E6F72222C226C6162656C223A226B6E6F776E227D010000FFFF54682F1621000000');
INSERT INTO judgements VALUES (4,1,1772476200000,'v2','searched',0.99822704540520779,7,0,0,0,2,X'1F8B08000000000004FF002400DBFF7B226B6579223A2243206D696E6F72222C226C6162656C223A227365617263686564227D010000FFFFD1E5379E24000000');
INSERT INTO judgements VALUES (5,4,1772469000000,'v1','known',0.11920292202211755,7,0,0,0,0,X'1F8B08000000000004FF002100DEFF7B226B6579223A2243206D696E6F72222C226C6162656C223A226B6E6F776E227D010000FFFF54682F1621000000');
INSERT INTO judgements VALUES (6,5,1772465400000,'v1','known',0.11920292202211755,7,0,0,0,0,X'1F8B08000000000004FF002100DEFF7B226B6579223A2243206D696E6F72222C226C6162656C223A226B6E6F776E227D010000FFFF54682F1621000000');
INSERT INTO digests VALUES (1,1772472600000,1,X'020102013C00C08599AF9C0100000000C0428FC2B53F00001041000050410000804000005041CDCC2C400743206D696E6F72000000803C01310000033F01330002044301350000FE4101340000FE3F01330000FF3E01320000FE3C0131');
INSERT INTO digests VALUES (2,1772472600000,1,X'020202013C00C08599AF9C0100000000C0428FC2B53F00001041000050410000804000005041CDCC2C400743206D696E6F72000000803C01310000033F01330002044301350000FE4101340000FE3F01330000FF3E01320000FE3C0131');
INSERT INTO digests VALUES (2,1772476200000,2,X'020300013C004074D0AF9C0100000000C0428FC2B53F00001041000050410000804000005041CDCC2C400746206D696E6F72000000803C01350000033F01370000044301320000FE4101310000FE3F01378000FF3E0223360000FE3C0135');
INSERT INTO digests VALUES (3,1772469000000,4,X'020F00013C00409762AF9C0100000000C0428FC2B53F00001041000050410000804000005041CDCC2C400743206D696E6F720400070081070101820701040307000000803C01310000033F01330000044301350000FE4101340000FE3F01330000FF3E01320000FE3C0131');
INSERT INTO links VALUES (4,0,'voice',0,7,0);
INSERT INTO links VALUES (4,1,'ear to numbers',0,7,1);
INSERT INTO links VALUES (4,2,'numbers to letters',0,7,1);
INSERT INTO links VALUES (4,3,'letters to fingers',0,7,0);
INSERT INTO links VALUES (5,0,'voice',0,7,0);
INSERT INTO links VALUES (5,1,'ear to numbers',0,7,1);
INSERT INTO links VALUES (5,2,'numbers to letters',0,7,1);
INSERT INTO links VALUES (5,3,'letters to fingers',0,7,0);
INSERT INTO link_notes VALUES (4,1,0,1);
INSERT INTO link_notes VALUES (4,2,0,4);
INSERT INTO link_notes VALUES (5,1,0,1);
INSERT INTO link_notes VALUES (5,2,0,4);
INSERT INTO pieces VALUES (4,0,0.9);
INSERT INTO pieces VALUES (4,1,1.8);
INSERT INTO pieces VALUES (5,0,0.9);
INSERT INTO pieces VALUES (5,1,1.8);
INSERT INTO helped VALUES (4,1,0,0,2,0,0,1);
INSERT INTO helped VALUES (5,1,0,0,2,0,0,1);
PRAGMA user_version = 2;
PRAGMA application_id = 1281454699;
