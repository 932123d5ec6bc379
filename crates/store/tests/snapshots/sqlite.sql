CREATE TABLE analysis (
    document_id TEXT NOT NULL,
    taken_on    TEXT NOT NULL,
    number      INTEGER NOT NULL,
    text        TEXT NOT NULL,
    sha256      TEXT NOT NULL,
    saved_at_ms INTEGER NOT NULL,
    CONSTRAINT analysis_pk PRIMARY KEY (document_id, taken_on, number),
    CONSTRAINT analysis_of_document FOREIGN KEY (document_id) REFERENCES document (id),
    CONSTRAINT analysis_from_one CHECK (number >= 1)
) STRICT;

CREATE TABLE channel (
    id          INTEGER PRIMARY KEY,
    document_id TEXT NOT NULL,
    instrument  TEXT NOT NULL,
    quantity    TEXT NOT NULL,
    CONSTRAINT channel_once UNIQUE (document_id, instrument, quantity),
    CONSTRAINT channel_of_document FOREIGN KEY (document_id) REFERENCES document (id)
) STRICT;

CREATE TABLE consent (
    id          INTEGER PRIMARY KEY,
    -- The batch; no value where every batch of the store is meant. It refers to nothing
    -- on purpose: a restore replaces documents and leaves what was agreed as it is, so that
    -- an old backup does not bring back what was withdrawn since.
    document_id TEXT,
    -- 1 for agreed, 0 for withdrawn.
    agreed      INTEGER NOT NULL,
    said_at_ms  INTEGER NOT NULL,
    CONSTRAINT consent_said CHECK (agreed IN (0, 1))
) STRICT;

CREATE TABLE delivery (
    id            INTEGER PRIMARY KEY,
    document_id   TEXT NOT NULL,
    source        TEXT NOT NULL,
    came_at_ms    INTEGER NOT NULL,
    -- Counted up with every block, in the transaction that keeps the block.
    rows_seen     INTEGER NOT NULL,
    added         INTEGER NOT NULL,
    already       INTEGER NOT NULL,
    contradicted  INTEGER NOT NULL,
    refused       INTEGER NOT NULL,
    CONSTRAINT delivery_of_document FOREIGN KEY (document_id) REFERENCES document (id)
) STRICT;

CREATE TABLE device (
    id            TEXT NOT NULL,
    name          TEXT NOT NULL,
    -- The batch that its readings go to.
    document_id   TEXT NOT NULL,
    -- HMAC-SHA-256 of the token under a salt of this device, in hexadecimal.
    salt          TEXT NOT NULL,
    token_hmac    TEXT NOT NULL,
    made_at_ms    INTEGER NOT NULL,
    -- No value while it has sent nothing, and while it may send.
    heard_at_ms   INTEGER,
    revoked_at_ms INTEGER,
    CONSTRAINT device_pk PRIMARY KEY (id),
    CONSTRAINT device_of_document FOREIGN KEY (document_id) REFERENCES document (id),
    CONSTRAINT device_named CHECK (name <> '')
) STRICT;

CREATE TABLE document (
    id               TEXT NOT NULL,
    kind             TEXT NOT NULL,
    current_revision INTEGER NOT NULL,
    -- Title and time of the newest revision again, so that lists never touch texts.
    title            TEXT NOT NULL,
    -- The title in small letters of every script, which SQLite cannot make itself.
    title_key        TEXT NOT NULL,
    saved_at_ms      INTEGER NOT NULL,
    -- Hidden since; no value while in use.
    archived_at_ms   INTEGER,
    CONSTRAINT document_pk PRIMARY KEY (id),
    CONSTRAINT document_kind_given CHECK (kind <> ''),
    CONSTRAINT document_revision_from_one CHECK (current_revision >= 1)
) STRICT;

CREATE TABLE reading (
    channel_id  INTEGER NOT NULL,
    taken_at_ms INTEGER NOT NULL,
    -- In the unit that stands beside it: the instrument's own, not converted.
    value       REAL NOT NULL,
    unit        TEXT NOT NULL,
    -- What the instrument sent, and by which way it came.
    raw         TEXT NOT NULL,
    source      TEXT NOT NULL,
    CONSTRAINT reading_pk PRIMARY KEY (channel_id, taken_at_ms),
    CONSTRAINT reading_of_channel FOREIGN KEY (channel_id) REFERENCES channel (id)
) STRICT, WITHOUT ROWID;

CREATE TABLE remark (
    delivery_id INTEGER NOT NULL,
    number      INTEGER NOT NULL,
    -- The line of the table or the place in the pack, from 1.
    line        INTEGER NOT NULL,
    -- refused, contradicted or clock: what is refused or contradicted gave no reading.
    kind        TEXT NOT NULL,
    why         TEXT NOT NULL,
    raw         TEXT NOT NULL,
    CONSTRAINT remark_pk PRIMARY KEY (delivery_id, number),
    CONSTRAINT remark_of_delivery FOREIGN KEY (delivery_id) REFERENCES delivery (id)
) STRICT, WITHOUT ROWID;

CREATE TABLE revision (
    document_id TEXT NOT NULL,
    number      INTEGER NOT NULL,
    title       TEXT NOT NULL,
    text        TEXT NOT NULL,
    sha256      TEXT NOT NULL,
    saved_at_ms INTEGER NOT NULL,
    author      TEXT,
    note        TEXT,
    -- The key is also the last guard against two saves of one number.
    CONSTRAINT revision_pk PRIMARY KEY (document_id, number),
    CONSTRAINT revision_of_document FOREIGN KEY (document_id) REFERENCES document (id),
    CONSTRAINT revision_from_one CHECK (number >= 1)
) STRICT;

CREATE TABLE schema_step (
    version INTEGER NOT NULL,
    name    TEXT NOT NULL,
    sha256  TEXT NOT NULL,
    CONSTRAINT schema_step_pk PRIMARY KEY (version)
) STRICT;

CREATE TABLE side_version (
    id          TEXT NOT NULL,
    document_id TEXT NOT NULL,
    -- The revision it was written on, and the newest one it met.
    based_on    INTEGER NOT NULL,
    met         INTEGER NOT NULL,
    title       TEXT NOT NULL,
    text        TEXT NOT NULL,
    sha256      TEXT NOT NULL,
    saved_at_ms INTEGER NOT NULL,
    author      TEXT,
    note        TEXT,
    -- The revision that took it up; no value while it waits.
    taken_up_as INTEGER,
    CONSTRAINT side_version_pk PRIMARY KEY (id),
    CONSTRAINT side_version_of_document FOREIGN KEY (document_id) REFERENCES document (id)
) STRICT;

CREATE INDEX delivery_by_document ON delivery (document_id, id);

CREATE INDEX document_by_kind ON document (kind, saved_at_ms, id);

CREATE INDEX side_version_by_document ON side_version (document_id, id)
