CREATE TABLE access_token (
    id            TEXT NOT NULL,
    token_sha256  TEXT NOT NULL,
    account_id    TEXT NOT NULL,
    group_id      TEXT NOT NULL,
    name          TEXT NOT NULL,
    -- At most this; less where the account is less in the group.
    role          TEXT NOT NULL,
    made_at_ms    INTEGER NOT NULL,
    revoked_at_ms INTEGER,
    CONSTRAINT access_token_pk PRIMARY KEY (id),
    CONSTRAINT access_token_once UNIQUE (token_sha256),
    CONSTRAINT access_token_of_account FOREIGN KEY (account_id) REFERENCES account (id),
    CONSTRAINT access_token_of_group FOREIGN KEY (group_id) REFERENCES grp (id),
    CONSTRAINT access_token_role CHECK (role IN ('read', 'brew', 'keep'))
) STRICT;

CREATE TABLE account (
    id            TEXT NOT NULL,
    -- By which it signs in, in small letters. Once the account is closed it is a word that names nobody.
    name          TEXT NOT NULL,
    shown         TEXT NOT NULL,
    -- Argon2id with its salt and costs, in the string form of the password hashing competition.
    password_hash TEXT NOT NULL,
    made_at_ms    INTEGER NOT NULL,
    closed_at_ms  INTEGER,
    CONSTRAINT account_pk PRIMARY KEY (id),
    CONSTRAINT account_name_once UNIQUE (name),
    CONSTRAINT account_named CHECK (name <> '')
) STRICT;

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

CREATE TABLE audit (
    id         INTEGER PRIMARY KEY,
    at_ms      INTEGER NOT NULL,
    account_id TEXT,
    group_id   TEXT,
    what       TEXT NOT NULL,
    thing      TEXT
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
    archived_at_ms   INTEGER, group_id TEXT CONSTRAINT document_of_group REFERENCES grp (id),
    CONSTRAINT document_pk PRIMARY KEY (id),
    CONSTRAINT document_kind_given CHECK (kind <> ''),
    CONSTRAINT document_revision_from_one CHECK (current_revision >= 1)
) STRICT;

CREATE TABLE grp (
    id         TEXT NOT NULL,
    name       TEXT NOT NULL,
    made_at_ms INTEGER NOT NULL,
    -- The account whose own group it is; no value for one that people share.
    own_of     TEXT,
    CONSTRAINT grp_pk PRIMARY KEY (id),
    CONSTRAINT grp_own_once UNIQUE (own_of),
    CONSTRAINT grp_of_account FOREIGN KEY (own_of) REFERENCES account (id),
    CONSTRAINT grp_named CHECK (name <> '')
) STRICT;

CREATE TABLE invitation (
    id              TEXT NOT NULL,
    token_sha256    TEXT NOT NULL,
    group_id        TEXT NOT NULL,
    role            TEXT NOT NULL,
    -- No value where it was made on the command line.
    made_by         TEXT,
    made_at_ms      INTEGER NOT NULL,
    expires_at_ms   INTEGER NOT NULL,
    used_by         TEXT,
    withdrawn_at_ms INTEGER,
    CONSTRAINT invitation_pk PRIMARY KEY (id),
    CONSTRAINT invitation_token_once UNIQUE (token_sha256),
    CONSTRAINT invitation_to_group FOREIGN KEY (group_id) REFERENCES grp (id),
    CONSTRAINT invitation_by_account FOREIGN KEY (made_by) REFERENCES account (id),
    CONSTRAINT invitation_used_by_account FOREIGN KEY (used_by) REFERENCES account (id),
    CONSTRAINT invitation_role CHECK (role IN ('read', 'brew', 'keep'))
) STRICT;

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

CREATE TABLE member (
    group_id   TEXT NOT NULL,
    account_id TEXT NOT NULL,
    role       TEXT NOT NULL,
    CONSTRAINT member_pk PRIMARY KEY (group_id, account_id),
    CONSTRAINT member_of_group FOREIGN KEY (group_id) REFERENCES grp (id),
    CONSTRAINT member_is_account FOREIGN KEY (account_id) REFERENCES account (id),
    CONSTRAINT member_role CHECK (role IN ('read', 'brew', 'keep'))
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

CREATE TABLE session (
    id            TEXT NOT NULL,
    token_sha256  TEXT NOT NULL,
    account_id    TEXT NOT NULL,
    -- The group that it looks at.
    group_id      TEXT NOT NULL,
    made_at_ms    INTEGER NOT NULL,
    seen_at_ms    INTEGER NOT NULL,
    expires_at_ms INTEGER NOT NULL,
    ended_at_ms   INTEGER,
    CONSTRAINT session_pk PRIMARY KEY (id),
    CONSTRAINT session_token_once UNIQUE (token_sha256),
    CONSTRAINT session_of_account FOREIGN KEY (account_id) REFERENCES account (id),
    CONSTRAINT session_of_group FOREIGN KEY (group_id) REFERENCES grp (id)
) STRICT;

CREATE TABLE share (
    document_id TEXT NOT NULL,
    group_id    TEXT NOT NULL,
    may         TEXT NOT NULL,
    CONSTRAINT share_pk PRIMARY KEY (document_id, group_id),
    CONSTRAINT share_of_document FOREIGN KEY (document_id) REFERENCES document (id),
    CONSTRAINT share_with_group FOREIGN KEY (group_id) REFERENCES grp (id),
    CONSTRAINT share_may CHECK (may IN ('read', 'brew'))
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

CREATE TABLE sign_in_try (
    -- SHA-256 of what was tried: no list of names and addresses comes together here.
    key_sha256  TEXT NOT NULL,
    tries       INTEGER NOT NULL,
    since_ms    INTEGER NOT NULL,
    CONSTRAINT sign_in_try_pk PRIMARY KEY (key_sha256)
) STRICT;

CREATE INDEX access_token_by_account ON access_token (account_id, id);

CREATE INDEX audit_by_account ON audit (account_id, id);

CREATE INDEX audit_by_group ON audit (group_id, id);

CREATE INDEX delivery_by_document ON delivery (document_id, id);

CREATE INDEX document_by_group ON document (group_id, kind, saved_at_ms, id);

CREATE INDEX document_by_kind ON document (kind, saved_at_ms, id);

CREATE INDEX invitation_by_group ON invitation (group_id, id);

CREATE INDEX job_by_document ON job (document_id);

CREATE INDEX job_by_state ON job (state, made_at_ms, id);

CREATE INDEX member_by_account ON member (account_id, group_id);

CREATE INDEX session_by_account ON session (account_id, id);

CREATE INDEX share_by_group ON share (group_id, document_id);

CREATE INDEX side_version_by_document ON side_version (document_id, id)
