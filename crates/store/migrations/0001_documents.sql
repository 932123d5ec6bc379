-- Documents with all their revisions: a save adds a row and changes none.
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

CREATE INDEX document_by_kind ON document (kind, saved_at_ms, id);

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
