//! Rows of the tables, and their conversion into what callers see.

use crate::{
    Analysis, Consent, Delivery, Device, Document, DocumentId, GroupId, Job, JobId, JobState, Kind,
    Reading, Remark, RemarkKind, Revision, RevisionInfo, RevisionNumber, SideId, SideInfo,
    SideVersion, StoreError, Timestamp,
};

/// A row whose fields are columns of their names; `with` another row that is read from the
/// same columns. The derive of the library would compile both engines a second time, for its
/// own use, and half a minute of every first build with it.
macro_rules! columns {
    (
        $seen:vis struct $name:ident { $($shown:vis $column:ident: $type:ty,)+ }
        $(with $within:vis $part:ident: $whole:ty)?
    ) => {
        #[derive(Debug)]
        $seen struct $name {
            $($shown $column: $type,)+
            $($within $part: $whole,)?
        }

        impl<'r, R> sqlx::FromRow<'r, R> for $name
        where
            R: sqlx::Row,
            &'static str: sqlx::ColumnIndex<R>,
            $($type: sqlx::Decode<'r, R::Database> + sqlx::Type<R::Database>,)+
            $($whole: sqlx::FromRow<'r, R>,)?
        {
            fn from_row(row: &'r R) -> Result<Self, sqlx::Error> {
                Ok(Self {
                    $($column: row.try_get(stringify!($column))?,)+
                    $($part: <$whole>::from_row(row)?,)?
                })
            }
        }
    };
}
pub(crate) use columns;

columns! {
    pub(crate) struct DocumentRow {
        pub(crate) id: String,
        kind: String,
        current_revision: i64,
        title: String,
        saved_at_ms: i64,
        archived_at_ms: Option<i64>,
    }
}

impl TryFrom<DocumentRow> for Document {
    type Error = StoreError;

    fn try_from(row: DocumentRow) -> Result<Self, StoreError> {
        Ok(Self {
            id: document_id(&row.id)?,
            kind: row
                .kind
                .parse::<Kind>()
                .map_err(|_| StoreError::unreadable("kind of document", &row.kind))?,
            title: row.title,
            current: RevisionNumber::from_row(row.current_revision)?,
            saved_at: Timestamp::from_row(row.saved_at_ms)?,
            archived_at: row.archived_at_ms.map(Timestamp::from_row).transpose()?,
        })
    }
}

columns! {
    pub(crate) struct ConsentRow {
        group_id: Option<String>,
        document_id: Option<String>,
        agreed: i64,
        said_at_ms: i64,
    }
}

impl TryFrom<ConsentRow> for Consent {
    type Error = StoreError;

    fn try_from(row: ConsentRow) -> Result<Self, StoreError> {
        Ok(Self {
            group: row.group_id.as_deref().map(group_id).transpose()?,
            batch: row.document_id.as_deref().map(document_id).transpose()?,
            agreed: row.agreed == 1,
            said_at: Timestamp::from_row(row.said_at_ms)?,
        })
    }
}

columns! {
    pub(crate) struct RevisionInfoRow {
        pub(crate) number: i64,
        title: String,
        sha256: String,
        saved_at_ms: i64,
        author: Option<String>,
        note: Option<String>,
    }
}

impl TryFrom<RevisionInfoRow> for RevisionInfo {
    type Error = StoreError;

    fn try_from(row: RevisionInfoRow) -> Result<Self, StoreError> {
        Ok(Self {
            number: RevisionNumber::from_row(row.number)?,
            title: row.title,
            sha256: row.sha256,
            saved_at: Timestamp::from_row(row.saved_at_ms)?,
            author: row.author,
            note: row.note,
        })
    }
}

columns! {
    pub(crate) struct RevisionRow {
        pub(crate) document_id: String,
        text: String,
    } with pub(crate) info: RevisionInfoRow
}

impl TryFrom<RevisionRow> for Revision {
    type Error = StoreError;

    fn try_from(row: RevisionRow) -> Result<Self, StoreError> {
        Ok(Self {
            document: document_id(&row.document_id)?,
            info: row.info.try_into()?,
            text: row.text,
        })
    }
}

columns! {
    pub(crate) struct SideInfoRow {
        pub(crate) id: String,
        document_id: String,
        based_on: i64,
        met: i64,
        title: String,
        sha256: String,
        saved_at_ms: i64,
        author: Option<String>,
        note: Option<String>,
        taken_up_as: Option<i64>,
    }
}

impl TryFrom<SideInfoRow> for SideInfo {
    type Error = StoreError;

    fn try_from(row: SideInfoRow) -> Result<Self, StoreError> {
        Ok(Self {
            id: row
                .id
                .parse::<SideId>()
                .map_err(|_| StoreError::unreadable("side version id", &row.id))?,
            document: document_id(&row.document_id)?,
            based_on: RevisionNumber::from_row(row.based_on)?,
            met: RevisionNumber::from_row(row.met)?,
            title: row.title,
            sha256: row.sha256,
            saved_at: Timestamp::from_row(row.saved_at_ms)?,
            author: row.author,
            note: row.note,
            taken_up_as: row.taken_up_as.map(RevisionNumber::from_row).transpose()?,
        })
    }
}

columns! {
    pub(crate) struct SideRow {
        text: String,
    } with pub(crate) info: SideInfoRow
}

impl TryFrom<SideRow> for SideVersion {
    type Error = StoreError;

    fn try_from(row: SideRow) -> Result<Self, StoreError> {
        Ok(Self {
            info: row.info.try_into()?,
            text: row.text,
        })
    }
}

columns! {
    pub(crate) struct AnalysisRow {
        pub(crate) document_id: String,
        pub(crate) taken_on: String,
        pub(crate) number: i64,
        text: String,
        sha256: String,
        saved_at_ms: i64,
    }
}

impl TryFrom<AnalysisRow> for Analysis {
    type Error = StoreError;

    fn try_from(row: AnalysisRow) -> Result<Self, StoreError> {
        Ok(Self {
            water: document_id(&row.document_id)?,
            taken_on: row
                .taken_on
                .parse()
                .map_err(|_| StoreError::unreadable("date", &row.taken_on))?,
            number: RevisionNumber::from_row(row.number)?,
            text: row.text,
            sha256: row.sha256,
            saved_at: Timestamp::from_row(row.saved_at_ms)?,
        })
    }
}

columns! {
    pub(crate) struct ChannelRow {
        pub(crate) id: i64,
        pub(crate) instrument: String,
        pub(crate) quantity: String,
    }
}

columns! {
    pub(crate) struct ReadingRow {
        pub(crate) taken_at_ms: i64,
        value: f64,
        unit: String,
        raw: String,
        source: String,
    }
}

impl ReadingRow {
    pub(crate) fn into_reading(self, channel: &ChannelRow) -> Result<Reading, StoreError> {
        Ok(Reading {
            instrument: channel.instrument.clone(),
            quantity: channel.quantity.clone(),
            taken_at: Timestamp::from_row(self.taken_at_ms)?,
            value: self.value,
            unit: self.unit,
            raw: self.raw,
            source: self.source,
        })
    }
}

pub(crate) fn document_id(text: &str) -> Result<DocumentId, StoreError> {
    text.parse()
        .map_err(|_| StoreError::unreadable("document id", text))
}

pub(crate) fn group_id(text: &str) -> Result<GroupId, StoreError> {
    text.parse()
        .map_err(|_| StoreError::unreadable("group id", text))
}

/// Converts all rows, or names the first that cannot be read.
pub(crate) fn all<R, T>(rows: Vec<R>) -> Result<Vec<T>, StoreError>
where
    T: TryFrom<R, Error = StoreError>,
{
    rows.into_iter().map(T::try_from).collect()
}

columns! {
    pub(crate) struct DeviceRow {
        id: String,
        name: String,
        document_id: String,
        pub(crate) salt: String,
        pub(crate) token_hmac: String,
        made_at_ms: i64,
        heard_at_ms: Option<i64>,
        revoked_at_ms: Option<i64>,
    }
}

impl TryFrom<DeviceRow> for Device {
    type Error = StoreError;

    fn try_from(row: DeviceRow) -> Result<Self, StoreError> {
        Ok(Self {
            id: row
                .id
                .parse()
                .map_err(|_| StoreError::unreadable("device id", &row.id))?,
            name: row.name,
            batch: document_id(&row.document_id)?,
            made_at: Timestamp::from_row(row.made_at_ms)?,
            heard_at: row.heard_at_ms.map(Timestamp::from_row).transpose()?,
            revoked_at: row.revoked_at_ms.map(Timestamp::from_row).transpose()?,
        })
    }
}

columns! {
    pub(crate) struct DeliveryRow {
        id: i64,
        source: String,
        came_at_ms: i64,
        rows_seen: i64,
        added: i64,
        already: i64,
        contradicted: i64,
        refused: i64,
    }
}

impl TryFrom<DeliveryRow> for Delivery {
    type Error = StoreError;

    fn try_from(row: DeliveryRow) -> Result<Self, StoreError> {
        let count = |n: i64| u64::try_from(n).unwrap_or_default();
        Ok(Self {
            id: row.id,
            source: row.source,
            came_at: Timestamp::from_row(row.came_at_ms)?,
            rows: count(row.rows_seen),
            added: count(row.added),
            already: count(row.already),
            contradicted: count(row.contradicted),
            refused: count(row.refused),
        })
    }
}

columns! {
    pub(crate) struct RemarkRow {
        delivery_id: i64,
        line: i64,
        kind: String,
        why: String,
        raw: String,
    }
}

impl TryFrom<RemarkRow> for Remark {
    type Error = StoreError;

    fn try_from(row: RemarkRow) -> Result<Self, StoreError> {
        Ok(Self {
            delivery: row.delivery_id,
            line: u64::try_from(row.line).unwrap_or_default(),
            kind: RemarkKind::of_word(&row.kind)
                .ok_or_else(|| StoreError::unreadable("remark", &row.kind))?,
            why: row.why,
            raw: row.raw,
        })
    }
}

columns! {
    pub(crate) struct JobRow {
        id: String,
        kind: String,
        version: String,
        document_id: Option<String>,
        state: String,
        attempt: i64,
        lost: i64,
        worker: Option<String>,
        lease_until_ms: Option<i64>,
        done: i64,
        whole: i64,
        cancel_wanted: i64,
        error: Option<String>,
        made_at_ms: i64,
        started_at_ms: Option<i64>,
        ended_at_ms: Option<i64>,
    }
}

impl TryFrom<JobRow> for Job {
    type Error = StoreError;

    fn try_from(row: JobRow) -> Result<Self, StoreError> {
        let count = |n: i64| u64::try_from(n).unwrap_or_default();
        let time = |ms: Option<i64>| ms.map(Timestamp::from_row).transpose();
        let known = JobState::ALL.into_iter().find(|s| s.word() == row.state);
        Ok(Self {
            id: job_id(&row.id)?,
            kind: row.kind,
            version: row.version,
            document: row.document_id.as_deref().map(document_id).transpose()?,
            state: known.ok_or_else(|| StoreError::unreadable("state of a job", &row.state))?,
            attempt: small("claims of a job", row.attempt)?,
            lost: small("lost leases of a job", row.lost)?,
            worker: row.worker,
            lease_until: time(row.lease_until_ms)?,
            done: count(row.done),
            whole: count(row.whole),
            cancel_wanted: row.cancel_wanted != 0,
            error: row.error,
            made_at: Timestamp::from_row(row.made_at_ms)?,
            started_at: time(row.started_at_ms)?,
            ended_at: time(row.ended_at_ms)?,
        })
    }
}

pub(crate) fn job_id(text: &str) -> Result<JobId, StoreError> {
    text.parse()
        .map_err(|_| StoreError::unreadable("job id", text))
}

pub(crate) fn small(what: &'static str, n: i64) -> Result<u32, StoreError> {
    u32::try_from(n).map_err(|_| StoreError::unreadable(what, n))
}
