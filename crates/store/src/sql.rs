//! Every statement of the store, in one place.
//!
//! Each is a constant in the SQL that both engines share. Where they part, the
//! statement stands in the list of its engine. A test prepares all of them.

use std::sync::LazyLock;

macro_rules! statements {
    ($list:ident: $($(#[$doc:meta])* $name:ident = $sql:literal;)+) => {
        $($(#[$doc])* pub(crate) const $name: &str = $sql;)+
        pub(crate) const $list: &[&str] = &[$($name),+];
    };
}
pub(crate) use statements;

statements! { SHARED:
    DOCUMENT_INSERT =
        "INSERT INTO document (id, kind, current_revision, title, title_key, saved_at_ms, archived_at_ms)
         VALUES ($1, $2, $3, $4, $5, $6, $7)";
    /// The compare-and-set of a save: no row is hit when the expected revision
    /// is not the newest. It also locks the row until the transaction ends.
    DOCUMENT_ADVANCE =
        "UPDATE document SET current_revision = current_revision + 1, title = $3, title_key = $4, saved_at_ms = $5
         WHERE id = $1 AND current_revision = $2";
    /// Changes nothing and holds the row until the transaction ends, in the
    /// words of both engines.
    DOCUMENT_HOLD =
        "UPDATE document SET current_revision = current_revision WHERE id = $1";
    DOCUMENT_READ =
        "SELECT id, kind, current_revision, title, saved_at_ms, archived_at_ms
         FROM document WHERE id = $1";
    DOCUMENT_LIST =
        "SELECT id, kind, current_revision, title, saved_at_ms, archived_at_ms
         FROM document
         WHERE kind = $1 AND (archived_at_ms IS NULL) = $2 AND title_key LIKE $3 ESCAPE '!'
         ORDER BY saved_at_ms DESC, id DESC LIMIT $4 OFFSET $5";
    DOCUMENT_COUNT =
        "SELECT COUNT(*) FROM document
         WHERE kind = $1 AND (archived_at_ms IS NULL) = $2 AND title_key LIKE $3 ESCAPE '!'";
    DOCUMENTS_AFTER =
        "SELECT id, kind, current_revision, title, saved_at_ms, archived_at_ms
         FROM document WHERE id > $1 ORDER BY id LIMIT $2";
    /// Archiving twice keeps the first time.
    DOCUMENT_ARCHIVE =
        "UPDATE document SET archived_at_ms = COALESCE(archived_at_ms, $2) WHERE id = $1";
    DOCUMENT_UNARCHIVE =
        "UPDATE document SET archived_at_ms = NULL WHERE id = $1";

    REVISION_INSERT =
        "INSERT INTO revision (document_id, number, title, text, sha256, saved_at_ms, author, note)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)";
    REVISION_READ =
        "SELECT document_id, number, title, text, sha256, saved_at_ms, author, note
         FROM revision WHERE document_id = $1 AND number = $2";
    REVISION_HISTORY =
        "SELECT number, title, sha256, saved_at_ms, author, note
         FROM revision WHERE document_id = $1 ORDER BY number";
    REVISIONS_AFTER =
        "SELECT document_id, number, title, text, sha256, saved_at_ms, author, note
         FROM revision WHERE (document_id, number) > ($1, $2)
         ORDER BY document_id, number LIMIT $3";

    SIDE_INSERT =
        "INSERT INTO side_version (id, document_id, based_on, met, title, text, sha256, saved_at_ms, author, note, taken_up_as)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)";
    SIDE_READ =
        "SELECT id, document_id, based_on, met, title, text, sha256, saved_at_ms, author, note, taken_up_as
         FROM side_version WHERE id = $1";
    SIDE_LIST =
        "SELECT id, document_id, based_on, met, title, sha256, saved_at_ms, author, note, taken_up_as
         FROM side_version WHERE document_id = $1 ORDER BY id";
    SIDES_AFTER =
        "SELECT id, document_id, based_on, met, title, text, sha256, saved_at_ms, author, note, taken_up_as
         FROM side_version WHERE id > $1 ORDER BY id LIMIT $2";
    SIDE_TAKE_UP =
        "UPDATE side_version SET taken_up_as = $2 WHERE id = $1";

    ANALYSIS_INSERT =
        "INSERT INTO analysis (document_id, taken_on, number, text, sha256, saved_at_ms)
         VALUES ($1, $2, $3, $4, $5, $6)";
    ANALYSIS_LIST =
        "SELECT document_id, taken_on, number, text, sha256, saved_at_ms
         FROM analysis WHERE document_id = $1 ORDER BY taken_on, number";
    ANALYSIS_OF_DAY =
        "SELECT document_id, taken_on, number, text, sha256, saved_at_ms
         FROM analysis WHERE document_id = $1 AND taken_on = $2 ORDER BY number";
    ANALYSES_AFTER =
        "SELECT document_id, taken_on, number, text, sha256, saved_at_ms
         FROM analysis WHERE (document_id, taken_on, number) > ($1, $2, $3)
         ORDER BY document_id, taken_on, number LIMIT $4";

    CHANNEL_INSERT =
        "INSERT INTO channel (document_id, instrument, quantity) VALUES ($1, $2, $3)
         ON CONFLICT (document_id, instrument, quantity) DO NOTHING";
    CHANNEL_ID =
        "SELECT id FROM channel WHERE document_id = $1 AND instrument = $2 AND quantity = $3";
    CHANNELS =
        "SELECT id, instrument, quantity FROM channel WHERE document_id = $1 ORDER BY instrument, quantity";
    CHANNEL_EXTENT =
        "SELECT COUNT(*) AS readings, MIN(taken_at_ms) AS first_ms, MAX(taken_at_ms) AS last_ms
         FROM reading WHERE channel_id = $1";
    READING_RANGE =
        "SELECT taken_at_ms, value, unit, raw, source FROM reading
         WHERE channel_id = $1 AND taken_at_ms >= $2 AND taken_at_ms < $3
         ORDER BY taken_at_ms LIMIT $4";
    READING_COUNT =
        "SELECT COUNT(*) FROM reading";

    DEVICE_INSERT =
        "INSERT INTO device (id, name, document_id, salt, token_hmac, made_at_ms)
         VALUES ($1, $2, $3, $4, $5, $6)";
    DEVICE_LIST =
        "SELECT id, name, document_id, salt, token_hmac, made_at_ms, heard_at_ms, revoked_at_ms
         FROM device ORDER BY id";
    DEVICE_READ =
        "SELECT id, name, document_id, salt, token_hmac, made_at_ms, heard_at_ms, revoked_at_ms
         FROM device WHERE id = $1";
    /// A late message never sets the clock back.
    DEVICE_HEARD =
        "UPDATE device SET heard_at_ms = $2
         WHERE id = $1 AND (heard_at_ms IS NULL OR heard_at_ms < $2)";
    /// Revoking twice keeps the first time.
    DEVICE_REVOKE =
        "UPDATE device SET revoked_at_ms = COALESCE(revoked_at_ms, $2) WHERE id = $1";
    DEVICE_POINT =
        "UPDATE device SET document_id = $2 WHERE id = $1";

    DELIVERY_INSERT =
        "INSERT INTO delivery (document_id, source, came_at_ms, rows_seen, added, already, contradicted, refused)
         VALUES ($1, $2, $3, 0, 0, 0, 0, 0) RETURNING id";
    DELIVERY_ADD =
        "UPDATE delivery SET rows_seen = rows_seen + $2, added = added + $3, already = already + $4,
             contradicted = contradicted + $5, refused = refused + $6
         WHERE id = $1";
    DELIVERY_LIST =
        "SELECT id, source, came_at_ms, rows_seen, added, already, contradicted, refused
         FROM delivery WHERE document_id = $1 ORDER BY id DESC LIMIT $2";
    REMARK_NEXT =
        "SELECT COALESCE(MAX(number), 0) + 1 AS next FROM remark WHERE delivery_id = $1";
    DEVICES_OF =
        "SELECT id, name, salt, token_hmac, made_at_ms, heard_at_ms, revoked_at_ms
         FROM device WHERE document_id = $1 ORDER BY id";
    DEVICE_HASH =
        "SELECT token_hmac FROM device WHERE id = $1";
    DEVICE_DOCUMENT =
        "SELECT document_id FROM device WHERE id = $1";
    DELIVERY_DOCUMENT =
        "SELECT document_id FROM delivery WHERE id = $1";
    DEVICE_CARRY =
        "INSERT INTO device (id, name, document_id, salt, token_hmac, made_at_ms, heard_at_ms, revoked_at_ms)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)";
    DELIVERIES_OF =
        "SELECT id, source, came_at_ms, rows_seen, added, already, contradicted, refused
         FROM delivery WHERE document_id = $1 ORDER BY id";
    DELIVERY_CARRY =
        "INSERT INTO delivery (document_id, source, came_at_ms, rows_seen, added, already, contradicted, refused)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8) RETURNING id";
    REMARKS_OF =
        "SELECT number, line, kind, why, raw FROM remark WHERE delivery_id = $1 ORDER BY number";
    REMARK_LIST =
        "SELECT r.delivery_id, r.line, r.kind, r.why, r.raw
         FROM remark r JOIN delivery d ON d.id = r.delivery_id
         WHERE d.document_id = $1 ORDER BY r.delivery_id DESC, r.number LIMIT $2";
    /// Every so many readings of a channel, for a chart that has fewer points.
    READING_THINNED =
        "SELECT taken_at_ms, value, unit, raw, source FROM (
             SELECT taken_at_ms, value, unit, raw, source,
                    ROW_NUMBER() OVER (ORDER BY taken_at_ms) AS place
             FROM reading WHERE channel_id = $1 AND taken_at_ms >= $2 AND taken_at_ms < $3
         ) numbered WHERE (place - 1) % $4 = 0 ORDER BY taken_at_ms";

    JOB_INSERT =
        "INSERT INTO job (id, kind, key, version, document_id, group_id, input, state, attempt, lost, done, whole, cancel_wanted, made_at_ms)
         VALUES ($1, $2, $3, $4, $5, $6, $7, 'waiting', 0, 0, 0, 0, 0, $8)
         ON CONFLICT (key) DO NOTHING";
    JOB_OF_KEY =
        "SELECT id, kind, version, document_id, state, attempt, lost, worker, lease_until_ms, done, whole, cancel_wanted, error, made_at_ms, started_at_ms, ended_at_ms
         FROM job WHERE key = $1";
    JOB_READ =
        "SELECT id, kind, version, document_id, state, attempt, lost, worker, lease_until_ms, done, whole, cancel_wanted, error, made_at_ms, started_at_ms, ended_at_ms
         FROM job WHERE id = $1";
    JOB_LIST =
        "SELECT id, kind, version, document_id, state, attempt, lost, worker, lease_until_ms, done, whole, cancel_wanted, error, made_at_ms, started_at_ms, ended_at_ms
         FROM job ORDER BY made_at_ms DESC, id DESC LIMIT $1";
    JOB_OWNER =
        "SELECT group_id FROM job WHERE id = $1";
    JOB_TEXTS =
        "SELECT kind, key, version, document_id, input, result FROM job WHERE id = $1";
    /// Whether there is anything to claim: asked before the store is locked for it.
    JOBS_OPEN =
        "SELECT COUNT(*) FROM job
         WHERE state = 'waiting' AND version = $1 OR state = 'running' AND lease_until_ms < $2";
    JOB_CLAIM =
        "UPDATE job SET state = 'running', attempt = attempt + 1, lost = $2, worker = $3, lease_until_ms = $4,
             done = 0, whole = 0, started_at_ms = $5
         WHERE id = $1";
    JOB_BEAT =
        "UPDATE job SET lease_until_ms = $3, done = $4, whole = $5
         WHERE id = $1 AND attempt = $2 AND state = 'running' RETURNING cancel_wanted";
    JOB_END =
        "UPDATE job SET state = $3, result = $4, error = $5, ended_at_ms = $6, lost = lost + $7, lease_until_ms = NULL
         WHERE id = $1 AND attempt = $2 AND state = 'running'";
    /// To whoever claims it next; one that was to be stopped has stopped.
    JOB_GIVE_BACK =
        "UPDATE job SET state = CASE WHEN cancel_wanted = 1 THEN 'cancelled' ELSE 'waiting' END,
             ended_at_ms = CASE WHEN cancel_wanted = 1 THEN CAST($3 AS BIGINT) ELSE NULL END,
             lost = $4, worker = NULL, lease_until_ms = NULL, started_at_ms = NULL, done = 0
         WHERE id = $1 AND attempt = $2 AND state = 'running'";
    JOB_CANCEL =
        "UPDATE job SET cancel_wanted = 1,
             state = CASE WHEN state = 'waiting' THEN 'cancelled' ELSE state END,
             ended_at_ms = CASE WHEN state = 'waiting' THEN CAST($2 AS BIGINT) ELSE ended_at_ms END
         WHERE id = $1 AND state IN ('waiting', 'running')";
    JOB_CLEAR_BROKEN =
        "DELETE FROM job WHERE id = $1 AND state IN ('failed', 'cancelled')";
    JOBS_CLEAR =
        "DELETE FROM job WHERE state <> 'running' AND COALESCE(ended_at_ms, made_at_ms) < $1";
    CONSENT_INSERT =
        "INSERT INTO consent (group_id, document_id, agreed, said_at_ms) VALUES ($1, $2, $3, $4)";
    CONSENT_LIST =
        "SELECT group_id, document_id, agreed, said_at_ms FROM consent ORDER BY id";
    BATCHES_OWNED =
        "SELECT id, title, group_id FROM document
         WHERE kind = 'batch' AND archived_at_ms IS NULL ORDER BY saved_at_ms DESC, id DESC";
    JOBS_BY_STATE =
        "SELECT state, COUNT(*) FROM job GROUP BY state ORDER BY state";

    STEP_LIST =
        "SELECT version, sha256 FROM schema_step ORDER BY version";
    STEP_INSERT =
        "INSERT INTO schema_step (version, name, sha256) VALUES ($1, $2, $3)";
}

statements! { SQLITE_ONLY:
    INTEGRITY = "PRAGMA integrity_check";
    FOREIGN_KEYS = "PRAGMA foreign_key_check";
    APPLICATION_ID = "PRAGMA application_id";
    TABLE_COUNT = "SELECT COUNT(*) FROM sqlite_schema WHERE type = 'table'";
    TABLE_EXISTS = "SELECT COUNT(*) > 0 FROM sqlite_schema WHERE type = 'table' AND name = $1";
    COPY_INTO = "VACUUM INTO $1";
    /// A writer has the file to itself.
    JOB_NEXT =
        "SELECT id, kind, version, input, attempt, lost, cancel_wanted, state FROM job
         WHERE state = 'waiting' AND version = $1 OR state = 'running' AND lease_until_ms < $2
         ORDER BY made_at_ms, id LIMIT 1";
    ATTACH = "ATTACH DATABASE $1 AS kept";
}

/// How many rows go into one statement of SQLite, which has no arrays: most first, what
/// is left by the smaller ones. The largest makes the hand-over to the thread of the
/// engine small beside the work, and its parameters fit (32,766).
type Inserts = LazyLock<[(usize, String); 3]>;

/// Adds so many readings of one channel, unit and source. The parameters have no
/// numbers: the name of a numbered one is looked for in a list of all of them, so that
/// binding them would take the square of their count.
pub(crate) static READING_INSERTS: Inserts = LazyLock::new(|| {
    [1_000, 50, 1].map(|rows| {
        let insert = format!(
            "INSERT INTO reading (channel_id, taken_at_ms, value, unit, raw, source) \
             SELECT ?, column1, column2, ?, column3, ? FROM (VALUES {}) WHERE TRUE \
             ON CONFLICT (channel_id, taken_at_ms) DO NOTHING",
            vec!["(?,?,?)"; rows].join(",")
        );
        (rows, insert)
    })
});

/// Adds so many remarks on one delivery.
pub(crate) static REMARK_INSERTS: Inserts = LazyLock::new(|| {
    [1_000, 50, 1].map(|rows| {
        let insert = format!(
            "INSERT INTO remark (delivery_id, number, line, kind, why, raw) \
             SELECT ?, column1, column2, column3, column4, column5 FROM (VALUES {})",
            vec!["(?,?,?,?,?)"; rows].join(",")
        );
        (rows, insert)
    })
});

statements! { POSTGRES_ONLY:
    /// One round trip for a whole block of readings.
    READING_INSERT_MANY =
        "INSERT INTO reading (channel_id, taken_at_ms, value, unit, raw, source)
         SELECT * FROM UNNEST($1::BIGINT[], $2::BIGINT[], $3::DOUBLE PRECISION[], $4::TEXT[], $5::TEXT[], $6::TEXT[])
         ON CONFLICT (channel_id, taken_at_ms) DO NOTHING";
    REMARK_INSERT_MANY =
        "INSERT INTO remark (delivery_id, number, line, kind, why, raw)
         SELECT $1, * FROM UNNEST($2::BIGINT[], $3::BIGINT[], $4::TEXT[], $5::TEXT[], $6::TEXT[])";
    /// Held while the tables are changed, so that two programs that start at
    /// once do not both change them. The number spells "gyle".
    LOCK_STEPS = "SELECT pg_advisory_xact_lock(1736010853)";
    /// The row is held until the claim is done; who looks meanwhile finds the next one.
    PG_JOB_NEXT =
        "SELECT id, kind, version, input, attempt, lost, cancel_wanted, state FROM job
         WHERE state = 'waiting' AND version = $1 OR state = 'running' AND lease_until_ms < $2
         ORDER BY made_at_ms, id LIMIT 1 FOR UPDATE SKIP LOCKED";
    PG_TABLE_EXISTS =
        "SELECT EXISTS (SELECT 1 FROM pg_tables WHERE schemaname = ANY (current_schemas(false)) AND tablename = $1)";
    ENCODING = "SELECT current_setting('server_encoding')";
}

/// Replaces everything in the store by what the attached file `kept` holds. Not
/// in the lists above, since they mean nothing until it is attached. Those who
/// refer go first and come last. What was agreed to stays as it is: see its step.
pub(crate) const RESTORE: &[&str] = &[
    "DELETE FROM main.sign_in_try",
    "DELETE FROM main.audit",
    "DELETE FROM main.share",
    "DELETE FROM main.invitation",
    "DELETE FROM main.access_token",
    "DELETE FROM main.session",
    "DELETE FROM main.member",
    // Not brought back: who held a lease then does not any more, and what was found can
    // be reckoned again.
    "DELETE FROM main.job",
    "DELETE FROM main.remark",
    "DELETE FROM main.delivery",
    "DELETE FROM main.device",
    "DELETE FROM main.reading",
    "DELETE FROM main.channel",
    "DELETE FROM main.analysis",
    "DELETE FROM main.side_version",
    "DELETE FROM main.revision",
    "DELETE FROM main.document",
    "DELETE FROM main.grp",
    "DELETE FROM main.account",
    "INSERT INTO main.account SELECT * FROM kept.account",
    "INSERT INTO main.grp SELECT * FROM kept.grp",
    "INSERT INTO main.document SELECT * FROM kept.document",
    "INSERT INTO main.revision SELECT * FROM kept.revision",
    "INSERT INTO main.side_version SELECT * FROM kept.side_version",
    "INSERT INTO main.analysis SELECT * FROM kept.analysis",
    "INSERT INTO main.channel SELECT * FROM kept.channel",
    "INSERT INTO main.reading SELECT * FROM kept.reading",
    "INSERT INTO main.device SELECT * FROM kept.device",
    "INSERT INTO main.delivery SELECT * FROM kept.delivery",
    "INSERT INTO main.remark SELECT * FROM kept.remark",
    "INSERT INTO main.member SELECT * FROM kept.member",
    // Whoever was signed in then may not be meant to be now.
    "INSERT INTO main.access_token SELECT * FROM kept.access_token",
    "INSERT INTO main.invitation SELECT * FROM kept.invitation",
    "INSERT INTO main.share SELECT * FROM kept.share",
    "INSERT INTO main.audit SELECT * FROM kept.audit",
];
