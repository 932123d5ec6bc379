//! The statements about people, in the SQL that both engines share.

use crate::sql::statements;

statements! { SHARED:
    /// The role of an account in a group, whose a document is, and what the group may do
    /// with it where it is shared.
    SIGHT_OF =
        "SELECT m.role, d.group_id, s.may FROM member m
         LEFT JOIN document d ON d.id = $1
         LEFT JOIN share s ON s.document_id = $1 AND s.group_id = m.group_id
         WHERE m.group_id = $3 AND m.account_id = $2";
    MEMBER_ROLE =
        "SELECT role FROM member WHERE group_id = $1 AND account_id = $2";
    DOCUMENT_OWNER =
        "SELECT group_id FROM document WHERE id = $1";
    DOCUMENT_OWN =
        "UPDATE document SET group_id = $2 WHERE id = $1";
    DOCUMENT_LIST_OF =
        "SELECT id, kind, current_revision, title, saved_at_ms, archived_at_ms
         FROM document
         WHERE kind = $1 AND (archived_at_ms IS NULL) = $2 AND title_key LIKE $3 ESCAPE '!'
           AND (group_id = $6 OR id IN (SELECT document_id FROM share WHERE group_id = $6))
         ORDER BY saved_at_ms DESC, id DESC LIMIT $4 OFFSET $5";
    DOCUMENT_COUNT_OF =
        "SELECT COUNT(*) FROM document
         WHERE kind = $1 AND (archived_at_ms IS NULL) = $2 AND title_key LIKE $3 ESCAPE '!'
           AND (group_id = $4 OR id IN (SELECT document_id FROM share WHERE group_id = $4))";
    DOCUMENTS_AFTER_OF =
        "SELECT id, kind, current_revision, title, saved_at_ms, archived_at_ms
         FROM document WHERE id > $1 AND group_id = $3 ORDER BY id LIMIT $2";
    CONSENT_LIST_OF =
        "SELECT group_id, document_id, agreed, said_at_ms FROM consent WHERE group_id = $1 ORDER BY id";
    BATCHES_OWNED_BY =
        "SELECT id, title, group_id FROM document
         WHERE group_id = $1 AND kind = 'batch' AND archived_at_ms IS NULL ORDER BY saved_at_ms DESC, id DESC";
    JOBS_OPEN_OF =
        "SELECT COUNT(*) FROM job WHERE group_id = $1 AND version = $2 AND state IN ('waiting', 'running')";
    DEVICE_LIST_OF =
        "SELECT v.id, v.name, v.document_id, v.salt, v.token_hmac, v.made_at_ms, v.heard_at_ms, v.revoked_at_ms
         FROM device v JOIN document d ON d.id = v.document_id
         WHERE d.group_id = $1 OR d.id IN (SELECT document_id FROM share WHERE group_id = $1)
         ORDER BY v.id";

    ACCOUNT_INSERT =
        "INSERT INTO account (id, name, shown, password_hash, made_at_ms) VALUES ($1, $2, $3, $4, $5)
         ON CONFLICT (name) DO NOTHING";
    ACCOUNT_BY_NAME =
        "SELECT id, password_hash FROM account WHERE name = $1 AND closed_at_ms IS NULL";
    ACCOUNT_READ =
        "SELECT id, name, shown, made_at_ms, closed_at_ms FROM account WHERE id = $1";
    ACCOUNT_LIST =
        "SELECT id, name, shown, made_at_ms, closed_at_ms FROM account ORDER BY id";
    ACCOUNT_HASH =
        "SELECT password_hash FROM account WHERE id = $1 AND closed_at_ms IS NULL";
    ACCOUNT_SET_HASH =
        "UPDATE account SET password_hash = $2 WHERE id = $1 AND closed_at_ms IS NULL";
    ACCOUNT_CLOSE =
        "UPDATE account SET name = $2, shown = $3, password_hash = '', closed_at_ms = $4
         WHERE id = $1 AND closed_at_ms IS NULL";

    GROUP_INSERT =
        "INSERT INTO grp (id, name, made_at_ms, own_of) VALUES ($1, $2, $3, $4)";
    GROUP_NAME =
        "SELECT name FROM grp WHERE id = $1";
    GROUP_LIST =
        "SELECT g.id, g.name, g.own_of, (SELECT COUNT(*) FROM member m WHERE m.group_id = g.id) AS members
         FROM grp g ORDER BY g.id";
    /// Changes nothing and holds the row until the transaction ends.
    GROUP_HOLD =
        "UPDATE grp SET name = name WHERE id = $1";
    /// The group stays, for what refers to it, and says nothing any more.
    GROUP_EMPTY =
        "UPDATE grp SET name = $2, own_of = NULL WHERE id = $1";
    GROUPS_OF =
        "SELECT g.id, g.name, g.own_of, m.role FROM member m JOIN grp g ON g.id = m.group_id
         WHERE m.account_id = $1 ORDER BY g.id";

    MEMBER_INSERT =
        "INSERT INTO member (group_id, account_id, role) VALUES ($1, $2, $3)
         ON CONFLICT (group_id, account_id) DO NOTHING";
    MEMBER_SET =
        "UPDATE member SET role = $3 WHERE group_id = $1 AND account_id = $2";
    MEMBER_REMOVE =
        "DELETE FROM member WHERE group_id = $1 AND account_id = $2";
    MEMBERS =
        "SELECT a.id, a.name, a.shown, m.role FROM member m JOIN account a ON a.id = m.account_id
         WHERE m.group_id = $1 ORDER BY a.name";
    KEEPERS =
        "SELECT COUNT(*) FROM member WHERE group_id = $1 AND role = 'keep'";
    MEMBER_COUNT =
        "SELECT COUNT(*) FROM member WHERE group_id = $1";

    SESSION_INSERT =
        "INSERT INTO session (id, token_sha256, account_id, group_id, made_at_ms, seen_at_ms, expires_at_ms)
         VALUES ($1, $2, $3, $4, $5, $5, $6)";
    /// The session of a token that is neither over nor idle for too long, with what the
    /// account is in its group.
    SESSION_BY_TOKEN =
        "SELECT s.id, s.account_id, a.name, a.shown, s.group_id, g.name AS group_name, m.role, s.seen_at_ms
         FROM session s JOIN account a ON a.id = s.account_id
         JOIN grp g ON g.id = s.group_id
         LEFT JOIN member m ON m.group_id = s.group_id AND m.account_id = s.account_id
         WHERE s.token_sha256 = $1 AND s.ended_at_ms IS NULL AND s.expires_at_ms > $2 AND s.seen_at_ms > $3
           AND a.closed_at_ms IS NULL";
    SESSION_SEEN =
        "UPDATE session SET seen_at_ms = $2 WHERE id = $1 AND seen_at_ms < $2";
    SESSION_END =
        "UPDATE session SET ended_at_ms = $2 WHERE id = $1 AND ended_at_ms IS NULL";
    SESSION_END_ALL =
        "UPDATE session SET ended_at_ms = $2 WHERE account_id = $1 AND ended_at_ms IS NULL";
    SESSION_SWITCH =
        "UPDATE session SET group_id = $2 WHERE id = $1";
    SESSIONS_OF =
        "SELECT id, made_at_ms, seen_at_ms, expires_at_ms FROM session
         WHERE account_id = $1 AND ended_at_ms IS NULL AND expires_at_ms > $2 AND seen_at_ms > $3 ORDER BY id DESC";
    SESSIONS_OPEN =
        "SELECT COUNT(*) FROM session WHERE ended_at_ms IS NULL AND expires_at_ms > $1 AND seen_at_ms > $2";
    SESSIONS_FORGET =
        "DELETE FROM session WHERE ended_at_ms < $1 OR expires_at_ms < $1";

    TOKEN_INSERT =
        "INSERT INTO access_token (id, token_sha256, account_id, group_id, name, role, made_at_ms)
         VALUES ($1, $2, $3, $4, $5, $6, $7)";
    TOKEN_BY_HASH =
        "SELECT t.id, t.account_id, a.name, a.shown, t.group_id, g.name AS group_name, t.role AS most, m.role
         FROM access_token t JOIN account a ON a.id = t.account_id JOIN grp g ON g.id = t.group_id
         JOIN member m ON m.group_id = t.group_id AND m.account_id = t.account_id
         WHERE t.token_sha256 = $1 AND t.revoked_at_ms IS NULL AND a.closed_at_ms IS NULL";
    TOKENS_OF =
        "SELECT t.id, t.name, g.name AS group_name, t.role, t.made_at_ms, t.revoked_at_ms
         FROM access_token t JOIN grp g ON g.id = t.group_id WHERE t.account_id = $1 ORDER BY t.id";
    TOKEN_REVOKE =
        "UPDATE access_token SET revoked_at_ms = COALESCE(revoked_at_ms, $3) WHERE id = $1 AND account_id = $2";
    TOKEN_REVOKE_ALL =
        "UPDATE access_token SET revoked_at_ms = COALESCE(revoked_at_ms, $2) WHERE account_id = $1";

    INVITATION_INSERT =
        "INSERT INTO invitation (id, token_sha256, group_id, role, made_by, made_at_ms, expires_at_ms)
         VALUES ($1, $2, $3, $4, $5, $6, $7)";
    /// An invitation that still holds: its keeper is a keeper still, or it came from the
    /// command line.
    INVITATION_BY_TOKEN =
        "SELECT i.id, i.group_id, g.name AS group_name, i.role FROM invitation i JOIN grp g ON g.id = i.group_id
         LEFT JOIN member m ON m.group_id = i.group_id AND m.account_id = i.made_by
         WHERE i.token_sha256 = $1 AND i.used_by IS NULL AND i.withdrawn_at_ms IS NULL AND i.expires_at_ms > $2
           AND (i.made_by IS NULL OR m.role = 'keep')";
    /// The compare-and-set by which it is used once.
    INVITATION_USE =
        "UPDATE invitation SET used_by = $2 WHERE id = $1 AND used_by IS NULL AND withdrawn_at_ms IS NULL";
    INVITATIONS_OF =
        "SELECT id, role, made_at_ms, expires_at_ms FROM invitation
         WHERE group_id = $1 AND used_by IS NULL AND withdrawn_at_ms IS NULL AND expires_at_ms > $2 ORDER BY id";
    INVITATION_WITHDRAW =
        "UPDATE invitation SET withdrawn_at_ms = COALESCE(withdrawn_at_ms, $3) WHERE id = $1 AND group_id = $2 AND used_by IS NULL";

    SHARE_SET =
        "INSERT INTO share (document_id, group_id, may) VALUES ($1, $2, $3)
         ON CONFLICT (document_id, group_id) DO UPDATE SET may = excluded.may";
    SHARE_END =
        "DELETE FROM share WHERE document_id = $1 AND group_id = $2";
    SHARES_OF =
        "SELECT s.group_id, g.name, s.may FROM share s JOIN grp g ON g.id = s.group_id
         WHERE s.document_id = $1 ORDER BY s.group_id";
    SHARED_BY =
        "SELECT d.id, d.kind, d.title, g.name AS group_name, s.may FROM share s
         JOIN document d ON d.id = s.document_id JOIN grp g ON g.id = s.group_id
         WHERE d.group_id = $1 ORDER BY d.title_key, d.id LIMIT 500";

    AUDIT_INSERT =
        "INSERT INTO audit (at_ms, account_id, group_id, what, thing) VALUES ($1, $2, $3, $4, $5)";
    AUDIT_OF_GROUP =
        "SELECT u.id, u.at_ms, a.name, u.what, u.thing FROM audit u LEFT JOIN account a ON a.id = u.account_id
         WHERE u.group_id = $1 AND u.id < $2 ORDER BY u.id DESC LIMIT $3";
    AUDIT_OF_ACCOUNT =
        "SELECT u.id, u.at_ms, a.name, u.what, u.thing FROM audit u LEFT JOIN account a ON a.id = u.account_id
         WHERE u.account_id = $1 AND u.id < $2 ORDER BY u.id DESC LIMIT $3";

    /// Counts one more; those of a window that is over are forgotten.
    TRY_COUNT =
        "INSERT INTO sign_in_try (key_sha256, tries, since_ms) VALUES ($1, 1, $2)
         ON CONFLICT (key_sha256) DO UPDATE SET
             tries = CASE WHEN sign_in_try.since_ms < $3 THEN 1 ELSE sign_in_try.tries + 1 END,
             since_ms = CASE WHEN sign_in_try.since_ms < $3 THEN $2 ELSE sign_in_try.since_ms END
         RETURNING tries, since_ms";
    TRY_FORGET =
        "DELETE FROM sign_in_try WHERE key_sha256 = $1 OR since_ms < $2";

    DOCUMENTS_WITHOUT_GROUP =
        "UPDATE document SET group_id = $1 WHERE group_id IS NULL";
    WRITTEN_BY =
        "SELECT r.document_id, r.number, r.title, r.saved_at_ms FROM revision r JOIN document d ON d.id = r.document_id
         WHERE r.author = $1 AND d.group_id IN (SELECT group_id FROM member WHERE account_id = $2)
         ORDER BY r.document_id, r.number";
    AUTHOR_OF_REVISIONS =
        "UPDATE revision SET author = $2 WHERE author = $1";
    AUTHOR_OF_SIDES =
        "UPDATE side_version SET author = $2 WHERE author = $1";
}

/// Removes everything that a group owns; those who refer go first.
pub(crate) const REMOVE_OF_GROUP: &[&str] = &[
    "DELETE FROM job WHERE group_id = $1",
    "DELETE FROM consent WHERE group_id = $1",
    "DELETE FROM remark WHERE delivery_id IN (SELECT v.id FROM delivery v JOIN document d ON d.id = v.document_id WHERE d.group_id = $1)",
    "DELETE FROM delivery WHERE document_id IN (SELECT id FROM document WHERE group_id = $1)",
    "DELETE FROM device WHERE document_id IN (SELECT id FROM document WHERE group_id = $1)",
    "DELETE FROM reading WHERE channel_id IN (SELECT c.id FROM channel c JOIN document d ON d.id = c.document_id WHERE d.group_id = $1)",
    "DELETE FROM channel WHERE document_id IN (SELECT id FROM document WHERE group_id = $1)",
    "DELETE FROM analysis WHERE document_id IN (SELECT id FROM document WHERE group_id = $1)",
    "DELETE FROM side_version WHERE document_id IN (SELECT id FROM document WHERE group_id = $1)",
    "DELETE FROM revision WHERE document_id IN (SELECT id FROM document WHERE group_id = $1)",
    "DELETE FROM share WHERE group_id = $1 OR document_id IN (SELECT id FROM document WHERE group_id = $1)",
    "DELETE FROM document WHERE group_id = $1",
    "DELETE FROM invitation WHERE group_id = $1",
    "DELETE FROM member WHERE group_id = $1",
];
