-- What goes into a study over the batches of many is agreed to by those who own them, and can be withdrawn; the last word counts, and no word is lost.
CREATE TABLE consent (
    id          INTEGER PRIMARY KEY,
    -- Whose word it is, for its own batches alone; no value for that of whoever runs the
    -- store, on batches that belong to no group. Neither this nor the batch refers to a
    -- row, on purpose: a restore replaces documents and groups and leaves what was agreed
    -- as it is, so that an old backup does not bring back what was withdrawn since.
    group_id    TEXT,
    -- The batch; no value where every batch of the group, or of no group, is meant.
    document_id TEXT,
    -- 1 for agreed, 0 for withdrawn.
    agreed      INTEGER NOT NULL,
    said_at_ms  INTEGER NOT NULL,
    CONSTRAINT consent_said CHECK (agreed IN (0, 1))
) STRICT;
