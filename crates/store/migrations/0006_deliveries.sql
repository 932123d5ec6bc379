-- What came in one go is told as one thing, and a row of it that gave no reading is kept as it came.
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

CREATE INDEX delivery_by_document ON delivery (document_id, id);

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
