-- Several people share one store: who they are, which groups they belong to, and whose a document is.
-- Safe while the version before runs on: only new tables, and one column that may stay without a value.
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

CREATE TABLE member (
    group_id   TEXT NOT NULL,
    account_id TEXT NOT NULL,
    role       TEXT NOT NULL,
    CONSTRAINT member_pk PRIMARY KEY (group_id, account_id),
    CONSTRAINT member_of_group FOREIGN KEY (group_id) REFERENCES grp (id),
    CONSTRAINT member_is_account FOREIGN KEY (account_id) REFERENCES account (id),
    CONSTRAINT member_role CHECK (role IN ('read', 'brew', 'keep'))
) STRICT;

CREATE INDEX member_by_account ON member (account_id, group_id);

-- Of a secret only its SHA-256 is kept, here and below: 256 random bits need no slow hash.
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

CREATE INDEX session_by_account ON session (account_id, id);

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

CREATE INDEX access_token_by_account ON access_token (account_id, id);

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

CREATE INDEX invitation_by_group ON invitation (group_id, id);

-- No value for a document that was made before there were groups, or without one.
ALTER TABLE document ADD COLUMN group_id TEXT CONSTRAINT document_of_group REFERENCES grp (id);

CREATE INDEX document_by_group ON document (group_id, kind, saved_at_ms, id);

CREATE TABLE share (
    document_id TEXT NOT NULL,
    group_id    TEXT NOT NULL,
    may         TEXT NOT NULL,
    CONSTRAINT share_pk PRIMARY KEY (document_id, group_id),
    CONSTRAINT share_of_document FOREIGN KEY (document_id) REFERENCES document (id),
    CONSTRAINT share_with_group FOREIGN KEY (group_id) REFERENCES grp (id),
    CONSTRAINT share_may CHECK (may IN ('read', 'brew'))
) STRICT;

CREATE INDEX share_by_group ON share (group_id, document_id);

-- Rows are added and never changed. No secret and no text of a document goes in.
CREATE TABLE audit (
    id         INTEGER PRIMARY KEY,
    at_ms      INTEGER NOT NULL,
    account_id TEXT,
    group_id   TEXT,
    what       TEXT NOT NULL,
    thing      TEXT
) STRICT;

CREATE INDEX audit_by_group ON audit (group_id, id);
CREATE INDEX audit_by_account ON audit (account_id, id);

-- How often a name or an address was tried, so that several servers count together.
CREATE TABLE sign_in_try (
    -- SHA-256 of what was tried: no list of names and addresses comes together here.
    key_sha256  TEXT NOT NULL,
    tries       INTEGER NOT NULL,
    since_ms    INTEGER NOT NULL,
    CONSTRAINT sign_in_try_pk PRIMARY KEY (key_sha256)
) STRICT;
