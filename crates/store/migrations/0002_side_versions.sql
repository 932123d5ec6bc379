-- A save on a revision that is no longer the newest is refused; its text is kept here.
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

CREATE INDEX side_version_by_document ON side_version (document_id, id);
