//! From the types of the application to the forms that are answered, and back.

use app::{BatchRow, Edit, OpenBatch, Page};
use batch::{KeyFigure, Moved};
use store::{Revision, RevisionInfo, RevisionNumber, SideInfo, SideVersion};

use super::forms::{
    BatchLine, BatchList, BatchText, DemoRow, DemoText, EditForm, KeptLine, KeptText, MovedFigure,
    PrintedFigure, RevisionLine, SavedBatch,
};

impl From<&'static app::Demo> for DemoRow {
    fn from(demo: &'static app::Demo) -> Self {
        Self {
            name: demo.name,
            about: demo.about,
        }
    }
}

impl From<&'static app::Demo> for DemoText {
    fn from(demo: &'static app::Demo) -> Self {
        Self {
            name: demo.name,
            about: demo.about,
            text: demo.text,
        }
    }
}

impl From<BatchRow> for BatchLine {
    fn from(row: BatchRow) -> Self {
        Self {
            id: row.id.to_string(),
            name: row.name,
            revision: row.revision.get(),
            saved_at: row.saved_at.to_string(),
        }
    }
}

impl From<Page> for BatchList {
    fn from(page: Page) -> Self {
        Self {
            batches: page.rows.into_iter().map(BatchLine::from).collect(),
            page: page.number,
            pages: page.pages,
            total: page.total,
        }
    }
}

impl From<Revision> for BatchText {
    fn from(revision: Revision) -> Self {
        Self {
            id: revision.document.to_string(),
            name: revision.info.title,
            revision: revision.info.number.get(),
            saved_at: revision.info.saved_at.to_string(),
            text: revision.text,
        }
    }
}

impl From<OpenBatch> for SavedBatch {
    fn from(open: OpenBatch) -> Self {
        Self {
            id: open.id.to_string(),
            revision: open.revision.get(),
            faults: batch::wire::Check::faulty(open.outcome.faults(), &open.text).faults,
            name: open.name,
        }
    }
}

impl From<EditForm> for Edit {
    fn from(form: EditForm) -> Self {
        match form {
            EditForm::Set { path, written } => Self::Set { path, written },
            EditForm::Add { list, values } => Self::Add {
                list,
                values: values.into_iter().map(|v| (v.key, v.written)).collect(),
            },
            EditForm::Remove { path } => Self::Remove { path },
        }
    }
}

impl From<&Moved> for MovedFigure {
    fn from(moved: &Moved) -> Self {
        Self {
            key: moved.after.key,
            stage: moved.after.stage.word(),
            label: moved.after.label,
            before: (&moved.before).into(),
            after: (&moved.after).into(),
        }
    }
}

impl From<&KeyFigure> for PrintedFigure {
    fn from(figure: &KeyFigure) -> Self {
        Self {
            metric: figure.text.metric.clone(),
            us: figure.text.us.clone(),
        }
    }
}

impl From<RevisionInfo> for RevisionLine {
    fn from(info: RevisionInfo) -> Self {
        Self {
            revision: info.number.get(),
            name: info.title,
            saved_at: info.saved_at.to_string(),
            author: info.author,
            note: info.note,
            sha256: info.sha256,
        }
    }
}

impl From<SideInfo> for KeptLine {
    fn from(info: SideInfo) -> Self {
        Self {
            id: info.id.to_string(),
            based_on: info.based_on.get(),
            met: info.met.get(),
            name: info.title,
            saved_at: info.saved_at.to_string(),
            note: info.note,
            taken_up_as: info.taken_up_as.map(RevisionNumber::get),
            sha256: info.sha256,
        }
    }
}

impl From<SideVersion> for KeptText {
    fn from(version: SideVersion) -> Self {
        Self {
            version: version.info.into(),
            text: version.text,
        }
    }
}
