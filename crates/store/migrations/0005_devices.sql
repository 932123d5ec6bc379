-- A sensor sends readings by itself and shows a token, of which the store keeps a keyed hash only.
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
