-- What goes into a study over the batches of many is agreed to by those who own them, and can be withdrawn; the last word counts, and no word is lost.
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
