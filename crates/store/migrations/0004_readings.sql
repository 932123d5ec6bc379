-- Readings come by the thousand: a channel carries the long key once, a reading only its number.
CREATE TABLE channel (
    id          INTEGER PRIMARY KEY,
    document_id TEXT NOT NULL,
    instrument  TEXT NOT NULL,
    quantity    TEXT NOT NULL,
    CONSTRAINT channel_once UNIQUE (document_id, instrument, quantity),
    CONSTRAINT channel_of_document FOREIGN KEY (document_id) REFERENCES document (id)
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
