-- A water changes with the seasons: its analyses are dated, and a correction is a further number of the same day.
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
