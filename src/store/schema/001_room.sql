-- The room file, first version. docs/models/room-file.md explains every table.
-- Ids are the 16 bytes of a UUID, hashes the 32 bytes of a SHA-256, times are UTC seconds since
-- 1970. Words (kinds, entities, forms …) are the words of the events' JSON. NULL means "none".

-- What happened: never changed, never removed. A correction is a later event that voids this one.
-- seal = sha256(sha256(canonical) || "position id kind at_s rank recorded_s"), in that order, the
-- numbers decimal, the id in its canonical form: a damaged row is noticed when it is read.
CREATE TABLE journal (
    position INTEGER PRIMARY KEY CHECK (position >= 1),
    id BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
    kind TEXT NOT NULL CHECK (length(kind) BETWEEN 1 AND 40),
    at_s INTEGER NOT NULL,
    rank INTEGER NOT NULL CHECK (rank BETWEEN 0 AND 9),
    recorded_s INTEGER NOT NULL,
    seal BLOB NOT NULL CHECK (length(seal) = 32),
    canonical TEXT NOT NULL CHECK (length(CAST(canonical AS BLOB)) BETWEEN 2 AND 65536)
) STRICT;

-- One row for each mention of a thing by an event.
CREATE TABLE fact (
    thing BLOB NOT NULL CHECK (length(thing) = 16),
    entity TEXT NOT NULL CHECK (length(entity) BETWEEN 1 AND 40),
    position INTEGER NOT NULL REFERENCES journal (position),
    is_definition INTEGER NOT NULL CHECK (is_definition IN (0, 1)),
    PRIMARY KEY (thing, entity, position)
) STRICT, WITHOUT ROWID;

CREATE INDEX fact_of_event ON fact (position);
CREATE INDEX fact_definition ON fact (entity, position) WHERE is_definition = 1;

-- Which event is voided by which. No reference to the voided row: inserts may come in any order.
CREATE TABLE voiding (
    event BLOB NOT NULL CHECK (length(event) = 16),
    position INTEGER NOT NULL REFERENCES journal (position),
    PRIMARY KEY (event, position)
) STRICT, WITHOUT ROWID;

CREATE INDEX voiding_by ON voiding (position);

CREATE TRIGGER journal_keeps_rows BEFORE DELETE ON journal
BEGIN SELECT raise(ABORT, 'the journal is append-only'); END;
CREATE TRIGGER journal_keeps_values BEFORE UPDATE ON journal
BEGIN SELECT raise(ABORT, 'the journal is append-only'); END;
CREATE TRIGGER fact_keeps_rows BEFORE DELETE ON fact
BEGIN SELECT raise(ABORT, 'facts are append-only'); END;
CREATE TRIGGER fact_keeps_values BEFORE UPDATE ON fact
BEGIN SELECT raise(ABORT, 'facts are append-only'); END;
CREATE TRIGGER voiding_keeps_rows BEFORE DELETE ON voiding
BEGIN SELECT raise(ABORT, 'voidings are append-only'); END;
CREATE TRIGGER voiding_keeps_values BEFORE UPDATE ON voiding
BEGIN SELECT raise(ABORT, 'voidings are append-only'); END;

-- Constants of the room, and secrets of the local server.
CREATE TABLE setting (
    name TEXT PRIMARY KEY CHECK (length(name) BETWEEN 1 AND 200),
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- Photos and batches of readings: named in events by their hash, part of the journal.
CREATE TABLE blob (
    number INTEGER PRIMARY KEY,
    sha256 BLOB NOT NULL UNIQUE CHECK (length(sha256) = 32),
    content BLOB NOT NULL
) STRICT;

CREATE TRIGGER blob_keeps_rows BEFORE DELETE ON blob
BEGIN SELECT raise(ABORT, 'blobs belong to the journal'); END;
CREATE TRIGGER blob_keeps_values BEFORE UPDATE ON blob
BEGIN SELECT raise(ABORT, 'blobs belong to the journal'); END;

-- What chances were computed for a programme. May be emptied at any time.
-- seal = sha256(link || state): a damaged state is taken for a missing one.
CREATE TABLE memo (
    number INTEGER PRIMARY KEY,
    link BLOB NOT NULL UNIQUE CHECK (length(link) = 32),
    seal BLOB NOT NULL CHECK (length(seal) = 32),
    state BLOB NOT NULL
) STRICT;

-- What the journal means: rebuilt from it at any time. The ledger never fails, so these tables have
-- no rule that a strange history could break; rows of equal order keep the ledger's order (rowid).
CREATE TABLE lot_now (
    lot BLOB PRIMARY KEY CHECK (length(lot) = 16),
    born_by BLOB CHECK (length(born_by) = 16),
    origin TEXT NOT NULL,
    born_s INTEGER NOT NULL,
    precision TEXT NOT NULL,
    mother BLOB CHECK (length(mother) = 16),
    arrival BLOB CHECK (length(arrival) = 16),
    source BLOB CHECK (length(source) = 16),
    plant BLOB CHECK (length(plant) = 16),
    name TEXT NOT NULL,
    form TEXT NOT NULL,
    use TEXT NOT NULL,
    label_active TEXT NOT NULL,
    is_label_clean INTEGER NOT NULL CHECK (is_label_clean IN (0, 1)),
    count_born INTEGER NOT NULL,
    count INTEGER NOT NULL,
    place BLOB CHECK (length(place) = 16),
    is_gone INTEGER NOT NULL CHECK (is_gone IN (0, 1)),
    released_by BLOB CHECK (length(released_by) = 16)
) STRICT, WITHOUT ROWID;

CREATE TABLE stay (
    number INTEGER PRIMARY KEY,
    lot BLOB NOT NULL CHECK (length(lot) = 16),
    place BLOB CHECK (length(place) = 16),
    from_s INTEGER NOT NULL,
    to_s INTEGER,
    from_event BLOB CHECK (length(from_event) = 16),
    to_event BLOB CHECK (length(to_event) = 16)
) STRICT;
CREATE INDEX stay_of_lot ON stay (lot, from_s);
CREATE INDEX stay_in_place ON stay (place);

CREATE TABLE fill (
    number INTEGER PRIMARY KEY,
    fill BLOB NOT NULL CHECK (length(fill) = 16),
    place BLOB NOT NULL CHECK (length(place) = 16),
    from_s INTEGER NOT NULL,
    to_s INTEGER,
    from_event BLOB CHECK (length(from_event) = 16),
    to_event BLOB CHECK (length(to_event) = 16),
    began_with_lots INTEGER NOT NULL CHECK (began_with_lots IN (0, 1))
) STRICT;
CREATE INDEX fill_of_place ON fill (place, from_s);

CREATE TABLE place_hold (
    number INTEGER PRIMARY KEY,
    hold BLOB NOT NULL CHECK (length(hold) = 16),
    place BLOB CHECK (length(place) = 16),
    cause TEXT NOT NULL,
    from_event BLOB CHECK (length(from_event) = 16),
    finding BLOB CHECK (length(finding) = 16),
    from_s INTEGER NOT NULL,
    to_s INTEGER,
    to_event BLOB CHECK (length(to_event) = 16),
    why TEXT NOT NULL
) STRICT;
CREATE INDEX hold_of_place ON place_hold (place, from_s);

CREATE TABLE finding_now (
    number INTEGER PRIMARY KEY,
    finding BLOB NOT NULL CHECK (length(finding) = 16),
    look BLOB CHECK (length(look) = 16),
    place BLOB CHECK (length(place) = 16),
    lot BLOB CHECK (length(lot) = 16),
    at_s INTEGER NOT NULL,
    threat TEXT NOT NULL,
    stage TEXT NOT NULL,
    count INTEGER NOT NULL,
    is_removed INTEGER NOT NULL CHECK (is_removed IN (0, 1)),
    is_retracted INTEGER NOT NULL CHECK (is_retracted IN (0, 1)),
    what TEXT NOT NULL
) STRICT;
CREATE INDEX finding_in_place ON finding_now (place);

CREATE TABLE conflict (
    number INTEGER PRIMARY KEY,
    kind TEXT NOT NULL,
    event BLOB NOT NULL CHECK (length(event) = 16),
    other BLOB CHECK (length(other) = 16),
    lot BLOB CHECK (length(lot) = 16),
    place BLOB CHECK (length(place) = 16),
    at_s INTEGER NOT NULL
) STRICT;
CREATE INDEX conflict_of_lot ON conflict (lot);
CREATE INDEX conflict_of_place ON conflict (place) WHERE lot IS NULL;
