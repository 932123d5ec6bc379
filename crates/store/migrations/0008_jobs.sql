-- Work that takes long is asked for once, done by whichever worker is free, and what it found kept for a while.
CREATE TABLE job (
    id             TEXT NOT NULL,
    kind           TEXT NOT NULL,
    -- SHA-256 of all that makes the question: the same question is one job.
    key            TEXT NOT NULL,
    -- Of the code that is to do it: a worker takes up what is of its own version.
    version        TEXT NOT NULL,
    -- It goes with its document; no value for one of no document.
    document_id    TEXT,
    -- In which it was asked for, and who may see it; no value where there are no groups.
    group_id       TEXT,
    input          TEXT NOT NULL,
    state          TEXT NOT NULL,
    -- Counted up with every claim: only the holder of the newest may say how it ended.
    attempt        INTEGER NOT NULL,
    -- Leases that ran out without a word.
    lost           INTEGER NOT NULL,
    worker         TEXT,
    lease_until_ms INTEGER,
    done           INTEGER NOT NULL,
    whole          INTEGER NOT NULL,
    cancel_wanted  INTEGER NOT NULL,
    result         TEXT,
    error          TEXT,
    made_at_ms     INTEGER NOT NULL,
    started_at_ms  INTEGER,
    ended_at_ms    INTEGER,
    CONSTRAINT job_pk PRIMARY KEY (id),
    CONSTRAINT job_once UNIQUE (key),
    -- A job is nothing of its own: it goes with its document.
    CONSTRAINT job_of_document FOREIGN KEY (document_id) REFERENCES document (id) ON DELETE CASCADE,
    CONSTRAINT job_of_group FOREIGN KEY (group_id) REFERENCES grp (id),
    CONSTRAINT job_state_known CHECK (state IN ('waiting', 'running', 'done', 'failed', 'cancelled')),
    CONSTRAINT job_done_has_result CHECK ((state = 'done') = (result IS NOT NULL))
) STRICT;

CREATE INDEX job_by_state ON job (state, made_at_ms, id);

CREATE INDEX job_by_document ON job (document_id);
