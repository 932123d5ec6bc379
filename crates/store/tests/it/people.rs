//! People who share a store: what each may see, and that it is nothing else.

use std::collections::{BTreeMap, BTreeSet};
use std::future::Future;
use std::path::Path;
use std::time::Duration;

use store::{
    AccountId, Block, Claimed, DocumentId, Draft, Ending, GroupId, JobId, JobState, Kind,
    ListRequest, MOST_OPEN, NewAccount, NewDocument, NewJob, People, ReadingRequest,
    RevisionNumber, Role, SideId, Sight, SignedIn, Store, StoreError, Timestamp, TokenId,
};

use crate::ground::{Ground, assert_sound, at, day, number, on_both, plant, reading};

on_both!(nobody_reaches_another_group, super::nobody_reaches_another);
on_both!(a_role_may_what_it_may, super::a_role_may);
on_both!(
    a_share_opens_one_document_and_ends,
    super::a_share_opens_one
);
on_both!(
    an_invitation_works_once_and_not_for_long,
    super::invitations
);
on_both!(a_session_ends, super::a_session_ends_on);
on_both!(tokens_may_no_more_than_their_owner, super::tokens);
on_both!(
    a_closed_account_leaves_its_work_without_its_name,
    super::closing
);
on_both!(the_version_before_goes_on_working, super::version_before);
on_both!(tries_are_counted_together, super::tries);
on_both!(
    a_group_speaks_for_its_own_batches_alone,
    super::own_batches_alone
);
on_both!(a_group_has_so_much_work_at_once, super::so_much_work);
on_both!(two_at_once_leave_a_keeper, super::two_keepers);

const HOUR: i64 = 3_600_000;

/// Somebody in a group of their own making.
struct Person {
    people: People,
    token: String,
    account: AccountId,
    group: GroupId,
    store: Store,
}

/// Signs somebody in, as the session shows it.
async fn seen(people: &People, store: &Store, token: &str, now: Timestamp) -> (SignedIn, Store) {
    let who = people.session(token, now, HOUR).await.unwrap().unwrap();
    let sight = Sight {
        account: who.account,
        name: who.name.clone(),
        group: who.group,
        most: who.role,
        session: who.session,
        at: now,
    };
    let seen = store.seen_by(sight);
    (who, seen)
}

/// A new group with its keeper.
async fn keeper(store: &Store, name: &str) -> Person {
    let people = store.people().unwrap();
    let (group, invitation) = people
        .begin(&format!("{name} club"), at(0), at(HOUR))
        .await
        .unwrap();
    enter(store, people, group, &invitation, name).await
}

async fn enter(
    store: &Store,
    people: People,
    group: GroupId,
    invitation: &str,
    name: &str,
) -> Person {
    let new = NewAccount {
        name,
        shown: name,
        password_hash: "$argon2id$none",
    };
    let account = people.enter(invitation, &new, at(1)).await.unwrap();
    let token = people
        .sign_in(account, Some(group), at(2), at(24 * HOUR))
        .await
        .unwrap();
    let (_, seen) = seen(&people, store, &token, at(3)).await;
    Person {
        people,
        token,
        account,
        group,
        store: seen,
    }
}

/// A further member of the keeper's group.
async fn member(store: &Store, of: &Person, name: &str, role: Role) -> Person {
    let (_, invitation) = of.store.invite(role, at(HOUR)).await.unwrap();
    let people = store.people().unwrap();
    enter(store, people, of.group, &invitation, name).await
}

/// Something of everything, all of one group.
struct Things {
    batch: DocumentId,
    water: DocumentId,
    side: SideId,
    device: store::DeviceId,
    device_token: String,
    delivery: i64,
    member: AccountId,
    group: GroupId,
    invitation: store::InvitationId,
    token: TokenId,
    job: JobId,
}

/// A question that takes long.
const fn work(document: Option<DocumentId>) -> NewJob<'static> {
    NewJob {
        kind: "match",
        version: "1",
        document,
        input: "Secret question",
    }
}

fn claim(id: JobId) -> Claimed {
    Claimed {
        id,
        kind: "match".to_owned(),
        input: String::new(),
        attempt: 1,
    }
}

async fn fill(of: &Person, whole: &Store) -> Things {
    let store = &of.store;
    let batch = plant(store, Kind::Batch, "Secret stout").await;
    let water = plant(store, Kind::Water, "Secret tap").await;
    store
        .add_analysis(water, day("2026-01-02"), "ph = \"7\"", at(5))
        .await
        .unwrap();
    let draft = Draft::new("Secret stout", "og = \"1.060\"");
    store.save(batch, number(1), &draft, at(5)).await.unwrap();
    let stale = store.save(batch, number(1), &draft, at(6)).await;
    let Err(StoreError::Stale { yours_kept_as, .. }) = stale else {
        panic!("{stale:?}");
    };
    store
        .add_readings(batch, &[reading("probe", "ph", 0, 5.2)])
        .await
        .unwrap();
    let made = store.make_device("float", batch, at(7)).await.unwrap();
    let delivery = store.begin_delivery(batch, "file", at(8)).await.unwrap();
    let (invitation, _) = store.invite(Role::Read, at(HOUR)).await.unwrap();
    store.make_token("script", Role::Brew).await.unwrap();
    let token = store.my_tokens().await.unwrap()[0].id;
    let job = store.ask_job(&work(Some(batch)), at(9)).await.unwrap().id;
    store.say_consent(Some(batch), true, at(9)).await.unwrap();
    let kept = whole.document(batch).await.unwrap();
    assert_eq!(kept.title, "Secret stout");
    Things {
        batch,
        water,
        side: yours_kept_as,
        device: made.device.id,
        device_token: made.token,
        delivery,
        member: of.account,
        group: of.group,
        invitation,
        token,
        job,
    }
}

/// What came of trying something.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Came {
    /// It was refused, in these words.
    Refused(String),
    /// It answered; these are all its words.
    Answered(String),
}

async fn came<T: std::fmt::Debug>(tried: impl Future<Output = Result<T, StoreError>>) -> Came {
    match tried.await {
        Ok(value) => Came::Answered(format!("{value:?}")),
        Err(error) => Came::Refused(error.to_string()),
    }
}

/// Tries every public function of a store on the things of somebody, under its name.
async fn visit(store: &Store, t: &Things, folder: &Path) -> BTreeMap<&'static str, Came> {
    let draft = Draft::new("taken over", "og = \"1.000\"");
    let first = RevisionNumber::FIRST;
    let two = number(2);
    let request = ReadingRequest::default();
    let some = [reading("probe", "ph", 9, 1.0)];
    let block = Block {
        readings: some.to_vec(),
        lines: vec![1],
        rows: 1,
        ..Block::default()
    };
    let mut all = BTreeMap::new();
    macro_rules! try_all {
        ($($name:ident($($argument:expr),*);)+) => {
            $(all.insert(stringify!($name), came(store.$name($($argument),*)).await);)+
        };
    }
    try_all! {
        add_analysis(t.water, day("2026-01-03"), "x = \"1\"", at(20));
        add_analyses(t.water, &[(day("2026-01-03"), "x = \"1\"")], at(20));
        analyses(t.water);
        begin_delivery(t.batch, "theirs", at(20));
        add_block(t.batch, t.delivery, &block);
        deliveries(t.batch, 10);
        remarks(t.batch, 10);
        make_device("theirs", t.batch, at(20));
        devices();
        device_of_token(&t.device_token);
        device_heard(t.device, at(20));
        revoke_device(t.device, at(20));
        point_device(t.device, t.batch);
        add_readings(t.batch, &some);
        readings(t.batch, &request);
        thinned_readings(t.batch, "probe", "ph", 10);
        channels(t.batch);
        save(t.batch, two, &draft, at(20));
        document(t.batch);
        current(t.batch);
        revision(t.batch, first);
        history(t.batch);
        difference(t.batch, first, two);
        bring_back(t.batch, first, two, None, at(20));
        list(&ListRequest::of(Kind::Batch));
        in_use(Kind::Batch);
        archive(t.batch, at(20));
        unarchive(t.batch);
        side_versions(t.batch);
        side_version(t.side);
        bring_back_side(t.side, two, None, at(20));
        backup(&folder.join("backup.db"));
        restore(&folder.join("backup.db"));
        check();
        export(&folder.join("export"));
        import(&folder.join("export"));
        members();
        set_role(t.member, Role::Read);
        remove_member(t.member);
        invite(Role::Read, at(HOUR));
        invitations();
        withdraw(t.invitation);
        standing_of(t.batch);
        shares(t.batch);
        share(t.batch, t.group, Role::Read);
        unshare(t.batch, t.group);
        shared_by_group();
        audit(None, 100);
        my_groups();
        make_group("theirs");
        join("no token");
        look_at(t.group);
        my_sessions(HOUR);
        my_password_hash();
        count_my_try(100);
        set_my_password("$argon2id$other");
        my_tokens();
        make_token("theirs", Role::Read);
        revoke_token(t.token);
        my_data(HOUR);
        leave_group();
        create(Kind::Batch, &draft, at(20));
        create_many(Kind::Batch, &[draft], at(20));
        create_all(&[NewDocument { kind: Kind::Batch, draft, samples: &[] }], at(20));
        create_water(&draft, &[], at(20));
        ask_job(&work(Some(t.batch)), at(20));
        job(t.job);
        job_texts(t.job);
        ask_again(t.job, at(20));
        cancel_job(t.job, at(20));
        jobs(10);
        jobs_by_state();
        job_waits("1", at(20));
        claim_job("theirs", "1", Duration::from_secs(1), at(20));
        job_beat(&claim(t.job), (1, 2), Duration::from_secs(1), at(20));
        end_job(&claim(t.job), Ending::Done("{}"), at(20));
        clear_jobs(at(HOUR));
        say_consent(Some(t.batch), false, at(20));
        consents();
        owned_batches();
        sign_out();
        sign_out_everywhere();
        close_my_account();
    }
    all.insert("people", came(async { store.people().map(drop) }).await);
    all
}

/// Those of a store that ask nothing of it.
const ASK_NOTHING: [&str; 8] = [
    "open",
    "open_as_of",
    "place",
    "close",
    "set_aside",
    "seen_by",
    "sight",
    "prepare_every_statement",
];

/// The names of all public functions of a store, as its sources have them.
fn public_functions() -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    for folder in [root.clone(), root.join("people")] {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_none_or(|e| e != "rs") {
                continue;
            }
            let text = std::fs::read_to_string(&path).unwrap();
            let mut inside = false;
            for line in text.lines() {
                match line {
                    "impl Store {" => inside = true,
                    "}" => inside = false,
                    _ => {}
                }
                let line = line.trim_start();
                let line = line
                    .strip_prefix("pub ")
                    .map(|l| l.trim_start_matches("const "));
                let line = line.map(|l| l.trim_start_matches("async "));
                if let Some(rest) = line.and_then(|l| l.strip_prefix("fn ")).filter(|_| inside) {
                    let name = rest.split(['(', '<']).next().unwrap();
                    names.insert(name.to_owned());
                }
            }
        }
    }
    names
}

async fn nobody_reaches_another(ground: &Ground) {
    let store = ground.open().await;
    let ann = keeper(&store, "annabel").await;
    let things = fill(&ann, &store).await;
    let eve = keeper(&store, "eve").await;
    let theirs = picture(&store, &ann).await;

    let folder = ground.path("tried");
    std::fs::create_dir_all(&folder).unwrap();
    let tried = visit(&eve.store, &things, &folder).await;
    let known: BTreeSet<String> = tried.keys().map(|name| (*name).to_owned()).collect();
    let asked = public_functions();
    let nothing: BTreeSet<String> = ASK_NOTHING.iter().map(|n| (*n).to_owned()).collect();
    let wanted: BTreeSet<String> = asked.difference(&nothing).cloned().collect();
    assert!(wanted.len() > 60, "{wanted:?}");
    assert_eq!(
        known, wanted,
        "each public function is tried here, a new one too"
    );

    // What names a thing of Ann's is answered as if there were none.
    let no_document = StoreError::NoSuchDocument { id: things.batch }.to_string();
    let no_water = StoreError::NoSuchDocument { id: things.water }.to_string();
    let no_side = StoreError::NoSuchSideVersion { id: things.side }.to_string();
    let no_device = StoreError::NoSuchDevice { id: things.device }.to_string();
    let no_job = StoreError::NoSuchJob { id: things.job }.to_string();
    for (name, came) in &tried {
        let refused = match *name {
            "add_analysis" | "add_analyses" | "analyses" => Some(&no_water),
            "side_version" | "bring_back_side" => Some(&no_side),
            "device_heard" | "revoke_device" | "point_device" => Some(&no_device),
            "job" | "job_texts" | "ask_again" | "cancel_job" => Some(&no_job),
            "begin_delivery" | "add_block" | "deliveries" | "remarks" | "make_device"
            | "add_readings" | "readings" | "thinned_readings" | "channels" | "save"
            | "document" | "current" | "revision" | "history" | "difference" | "bring_back"
            | "archive" | "unarchive" | "side_versions" | "standing_of" | "shares" | "share"
            | "unshare" | "ask_job" | "say_consent" => Some(&no_document),
            _ => None,
        };
        if let Some(words) = refused {
            assert_eq!(came, &Came::Refused(words.clone()), "{name}");
        }
        let said = format!("{came:?}");
        for secret in ["Secret", "annabel", "1.060"] {
            assert!(!said.contains(secret), "{name} tells {secret}: {said}");
        }
    }
    let nothing_said = Came::Answered("Consents([])".to_owned());
    assert_eq!(tried["consents"], nothing_said);
    assert_eq!(tried["device_of_token"], Came::Answered("None".to_owned()));
    for name in [
        "backup",
        "restore",
        "check",
        "import",
        "jobs",
        "jobs_by_state",
        "job_waits",
        "claim_job",
        "job_beat",
        "end_job",
        "clear_jobs",
        "people",
        "look_at",
        "set_role",
        "remove_member",
    ] {
        assert!(
            matches!(tried[name], Came::Refused(_)),
            "{name}: {:?}",
            tried[name]
        );
    }
    for name in [
        "list",
        "in_use",
        "export",
        "create",
        "make_group",
        "owned_batches",
    ] {
        assert!(
            matches!(tried[name], Came::Answered(_)),
            "{name}: {:?}",
            tried[name]
        );
    }
    // And nothing of it has changed.
    assert_eq!(picture(&store, &ann).await, theirs);
    let device = store.device_of_token(&things.device_token).await.unwrap();
    assert_eq!(device.unwrap().heard_at, None);
    let job = store.job(things.job).await.unwrap();
    assert!(job.state == JobState::Waiting && !job.cancel_wanted);
    assert_eq!(ann.store.job(things.job).await.unwrap(), job);

    // Eve's account is closed by now: her sight sees not even her own.
    let gone = eve.store.list(&ListRequest::of(Kind::Batch)).await;
    assert!(
        matches!(gone, Err(StoreError::NotAllowed { .. })),
        "{gone:?}"
    );
    assert_sound(&store).await;
    store.close().await;
}

/// Everything of a person's group, by what the whole store says.
async fn picture(store: &Store, of: &Person) -> String {
    let mut told = String::new();
    for kind in Kind::ALL {
        let listed = of.store.list(&ListRequest::of(kind)).await.unwrap();
        for document in listed.documents {
            let history = store.history(document.id).await.unwrap();
            let sides = store.side_versions(document.id).await.unwrap();
            let text = store.current(document.id).await.unwrap().text;
            let analyses = store.analyses(document.id).await.unwrap();
            let readings = store
                .readings(document.id, &ReadingRequest::default())
                .await
                .unwrap();
            let deliveries = store.deliveries(document.id, 99).await.unwrap();
            told.push_str(&format!(
                "{document:?} {history:?} {sides:?} {text} {analyses:?} {readings:?} {deliveries:?}\n"
            ));
        }
    }
    let devices = of.store.devices().await.unwrap();
    let members = of.store.members().await.unwrap();
    let invitations = of.store.invitations().await.unwrap();
    let tokens = of.store.my_tokens().await.unwrap();
    let sessions = of.store.my_sessions(HOUR).await.unwrap();
    let hash = of.store.my_password_hash().await.unwrap();
    let shares = of.store.shared_by_group().await.unwrap();
    let said = of.store.consents().await.unwrap();
    format!(
        "{told}{devices:?}{members:?}{invitations:?}{tokens:?}{sessions:?}{hash}{shares:?}{said:?}"
    )
}

async fn a_role_may(ground: &Ground) {
    let store = ground.open().await;
    let ann = keeper(&store, "ann").await;
    let things = fill(&ann, &store).await;
    let reader = member(&store, &ann, "rea", Role::Read).await;
    let brewer = member(&store, &ann, "bob", Role::Brew).await;
    let draft = Draft::new("Stout", "og = \"1.050\"");

    // A reader sees all of it and changes nothing.
    assert_eq!(
        reader.store.current(things.batch).await.unwrap().text,
        "og = \"1.060\""
    );
    assert_eq!(reader.store.members().await.unwrap().len(), 3);
    let before = picture(&store, &ann).await;
    let folder = ground.path("reader");
    std::fs::create_dir_all(&folder).unwrap();
    let r = &reader.store;
    let one = [reading("p", "ph", 1, 5.0)];
    for refused in [
        came(r.save(things.batch, number(2), &draft, at(9))).await,
        came(r.create(Kind::Batch, &draft, at(9))).await,
        came(r.archive(things.batch, at(9))).await,
        came(r.add_readings(things.batch, &one)).await,
        came(r.make_device("x", things.batch, at(9))).await,
        came(r.revoke_device(things.device, at(9))).await,
        came(r.bring_back_side(things.side, number(2), None, at(9))).await,
        came(r.invite(Role::Read, at(HOUR))).await,
        came(r.make_token("x", Role::Brew)).await,
        came(r.audit(None, 9)).await,
        came(r.say_consent(Some(things.batch), false, at(9))).await,
        came(r.say_consent(None, true, at(9))).await,
        came(brewer.store.say_consent(Some(things.batch), false, at(9))).await,
        came(brewer.store.say_consent(None, true, at(9))).await,
        came(r.invitations()).await,
        came(brewer.store.set_role(reader.account, Role::Keep)).await,
        came(brewer.store.remove_member(reader.account)).await,
        came(brewer.store.withdraw(things.invitation)).await,
        came(brewer.store.share(things.batch, ann.group, Role::Read)).await,
        came(brewer.store.audit(None, 9)).await,
        came(brewer.store.make_token("x", Role::Keep)).await,
    ] {
        assert!(
            matches!(&refused, Came::Refused(w) if w.contains(" is for ")),
            "{refused:?}"
        );
    }
    assert_eq!(picture(&store, &ann).await, before);

    // A brewer's name is on what the brewer saves, whatever the draft says.
    let signed = Draft {
        author: Some("ann"),
        ..draft
    };
    brewer
        .store
        .save(things.batch, number(2), &signed, at(9))
        .await
        .unwrap();
    let newest = store.current(things.batch).await.unwrap();
    assert_eq!(newest.info.author.as_deref(), Some("bob"));
    let trail = ann.store.audit(None, 3).await.unwrap();
    assert_eq!(
        (trail[0].who.as_deref(), trail[0].what.as_str()),
        (Some("bob"), "save")
    );
    assert_eq!(trail[0].thing, Some(things.batch.to_string()));

    // A role that is taken away is gone with the next question.
    ann.store
        .set_role(brewer.account, Role::Read)
        .await
        .unwrap();
    let late = brewer
        .store
        .save(things.batch, number(3), &draft, at(10))
        .await;
    assert!(
        matches!(late, Err(StoreError::NotAllowed { .. })),
        "{late:?}"
    );
    ann.store.remove_member(brewer.account).await.unwrap();
    let late = brewer.store.current(things.batch).await;
    assert!(
        matches!(late, Err(StoreError::NoSuchDocument { .. })),
        "{late:?}"
    );
    let alone = ann.store.set_role(ann.account, Role::Read).await;
    assert!(matches!(alone, Err(StoreError::LastKeeper)), "{alone:?}");
    store.close().await;
}

async fn a_share_opens_one(ground: &Ground) {
    let store = ground.open().await;
    let ann = keeper(&store, "ann").await;
    let things = fill(&ann, &store).await;
    let eve = keeper(&store, "eve").await;
    let draft = Draft::new("Stout", "og = \"1.050\"");
    ann.store
        .share(things.batch, eve.group, Role::Read)
        .await
        .unwrap();
    assert_eq!(
        eve.store
            .list(&ListRequest::of(Kind::Batch))
            .await
            .unwrap()
            .total,
        1
    );
    assert_eq!(
        eve.store.current(things.batch).await.unwrap().text,
        "og = \"1.060\""
    );
    assert_eq!(eve.store.devices().await.unwrap().len(), 1);
    for refused in [
        came(eve.store.save(things.batch, number(2), &draft, at(9))).await,
        came(eve.store.revoke_device(things.device, at(9))).await,
        came(eve.store.shares(things.batch)).await,
        came(eve.store.share(things.batch, ann.group, Role::Read)).await,
        came(eve.store.unshare(things.batch, eve.group)).await,
    ] {
        assert!(
            matches!(&refused, Came::Refused(w) if w.contains(" is for ")),
            "{refused:?}"
        );
    }
    let water = eve.store.current(things.water).await;
    assert!(
        matches!(water, Err(StoreError::NoSuchDocument { .. })),
        "{water:?}"
    );
    // What another group owns does not leave with an export of the own things.
    let out = eve.store.export(&ground.path("eve")).await.unwrap();
    assert_eq!(out.documents, 0);

    ann.store
        .share(things.batch, eve.group, Role::Brew)
        .await
        .unwrap();
    eve.store
        .save(things.batch, number(2), &draft, at(9))
        .await
        .unwrap();
    // A delivery that was begun to another batch takes no remark of this one's.
    let own = plant(&eve.store, Kind::Batch, "own").await;
    let block = Block::default();
    let other = eve.store.add_block(own, things.delivery, &block).await;
    assert!(
        matches!(other, Err(StoreError::Impossible { .. })),
        "{other:?}"
    );
    let keep = ann.store.share(things.batch, eve.group, Role::Keep).await;
    assert!(
        matches!(keep, Err(StoreError::Impossible { .. })),
        "{keep:?}"
    );

    ann.store.unshare(things.batch, eve.group).await.unwrap();
    let gone = eve.store.current(things.batch).await;
    assert!(
        matches!(gone, Err(StoreError::NoSuchDocument { .. })),
        "{gone:?}"
    );
    assert_eq!(eve.store.devices().await.unwrap().len(), 0);
    store.close().await;
}

async fn invitations(ground: &Ground) {
    let store = ground.open().await;
    let ann = keeper(&store, "ann").await;
    let people = store.people().unwrap();
    fn new(name: &str) -> NewAccount<'_> {
        NewAccount {
            name,
            shown: "Somebody",
            password_hash: "$argon2id$none",
        }
    }
    let (_, token) = ann.store.invite(Role::Brew, at(HOUR)).await.unwrap();
    let shown = people.invitation(&token, at(9)).await.unwrap().unwrap();
    assert_eq!((shown.group, shown.role), (ann.group, Role::Brew));
    // A name that is taken or cannot be does not use it up.
    let taken = people.enter(&token, &new("ann"), at(9)).await;
    assert!(
        matches!(taken, Err(StoreError::NameTaken { .. })),
        "{taken:?}"
    );
    for bad in [
        "",
        "a",
        "Ann",
        "an n",
        "9ann",
        "änn",
        "ann\u{0}",
        &"a".repeat(41),
    ] {
        let refused = people.enter(&token, &new(bad), at(9)).await;
        assert!(
            matches!(refused, Err(StoreError::Impossible { .. })),
            "{bad:?}: {refused:?}"
        );
    }
    people.enter(&token, &new("bob"), at(9)).await.unwrap();
    let again = people.enter(&token, &new("cat"), at(10)).await;
    assert!(matches!(again, Err(StoreError::NoInvitation)), "{again:?}");

    // Two who come at once: one is in.
    let (_, token) = ann.store.invite(Role::Read, at(HOUR)).await.unwrap();
    let (dan, eli) = (new("dan"), new("eli"));
    let both = tokio::join!(
        people.enter(&token, &dan, at(11)),
        people.enter(&token, &eli, at(11))
    );
    assert_eq!(
        u8::from(both.0.is_ok()) + u8::from(both.1.is_ok()),
        1,
        "{both:?}"
    );

    let (_, late) = ann.store.invite(Role::Read, at(HOUR)).await.unwrap();
    assert_eq!(people.invitation(&late, at(HOUR)).await.unwrap(), None);
    let (id, withdrawn) = ann.store.invite(Role::Read, at(HOUR)).await.unwrap();
    ann.store.withdraw(id).await.unwrap();
    assert_eq!(people.invitation(&withdrawn, at(9)).await.unwrap(), None);

    // It holds only as long as who made it keeps the group.
    let cat = member(&store, &ann, "cat", Role::Keep).await;
    let (_, of_cat) = cat.store.invite(Role::Keep, at(HOUR)).await.unwrap();
    assert!(people.invitation(&of_cat, at(9)).await.unwrap().is_some());
    ann.store.set_role(cat.account, Role::Brew).await.unwrap();
    assert_eq!(people.invitation(&of_cat, at(9)).await.unwrap(), None);
    store.close().await;
}

async fn a_session_ends_on(ground: &Ground) {
    let store = ground.open().await;
    let ann = keeper(&store, "ann").await;
    let in_at = |token: String, ms: i64, idle: i64| {
        let people = ann.people.clone();
        async move {
            people
                .session(&token, at(ms), idle)
                .await
                .unwrap()
                .is_some()
        }
    };
    assert!(in_at(ann.token.clone(), HOUR - 1, HOUR).await);
    // It was used just now, so it does not go idle an hour after it began.
    assert!(in_at(ann.token.clone(), 2 * HOUR - 2, HOUR).await);
    assert!(!in_at(ann.token.clone(), 4 * HOUR, HOUR).await);
    assert!(!in_at(ann.token.clone(), 24 * HOUR, 99 * HOUR).await);
    for wrong in ["", "x", &ann.token.to_uppercase(), &ann.token[1..]] {
        assert!(!in_at(wrong.to_owned(), 4, HOUR).await, "{wrong}");
    }
    // Signing in again is another token, and signing out ends one.
    let sign_in = || ann.people.sign_in(ann.account, None, at(5), at(HOUR));
    let (second, third) = (sign_in().await.unwrap(), sign_in().await.unwrap());
    assert_ne!(second, third);
    let (_, by_second) = seen(&ann.people, &store, &second, at(6)).await;
    by_second.sign_out().await.unwrap();
    assert!(!in_at(second, 7, HOUR).await);
    assert!(in_at(third.clone(), 7, HOUR).await && in_at(ann.token.clone(), 7, HOUR).await);
    let (_, by_third) = seen(&ann.people, &store, &third, at(8)).await;
    by_third.set_my_password("$argon2id$new").await.unwrap();
    assert!(!in_at(third, 9, HOUR).await && !in_at(ann.token.clone(), 9, HOUR).await);
    // Whoever runs the server can end all of them.
    let fourth = ann
        .people
        .sign_in(ann.account, None, at(10), at(HOUR))
        .await
        .unwrap();
    assert!(in_at(fourth.clone(), 11, HOUR).await);
    ann.people.shut_out("ann", at(12)).await.unwrap();
    assert!(!in_at(fourth, 13, HOUR).await);
    let nobody = ann.people.shut_out("nobody", at(12)).await;
    assert!(
        matches!(nobody, Err(StoreError::NoSuchMember)),
        "{nobody:?}"
    );
    // What is kept of the password is what was handed over, a hash.
    let hash = ann.people.by_name("ann").await.unwrap().unwrap().1;
    assert_eq!(hash, "$argon2id$new");
    store.close().await;
}

async fn tokens(ground: &Ground) {
    let store = ground.open().await;
    let ann = keeper(&store, "ann").await;
    let bob = member(&store, &ann, "bob", Role::Brew).await;
    let token = bob.store.make_token("script", Role::Brew).await.unwrap();
    let role = || async {
        bob.people
            .of_token(&token)
            .await
            .unwrap()
            .map(|who| who.role)
    };
    assert_eq!(role().await, Some(Role::Brew));
    let who = bob.people.of_token(&token).await.unwrap().unwrap();
    let sight = Sight {
        account: who.account,
        name: who.name,
        group: who.group,
        most: who.role,
        session: who.session,
        at: at(9),
    };
    // It manages nothing and changes no account.
    let by_token = store.seen_by(sight);
    plant(&by_token, Kind::Batch, "by a script").await;
    for refused in [
        came(by_token.set_my_password("x")).await,
        came(by_token.close_my_account()).await,
        came(by_token.make_token("more", Role::Read)).await,
        came(by_token.my_data(HOUR)).await,
        came(by_token.make_group("x")).await,
    ] {
        assert!(
            matches!(&refused, Came::Refused(w) if w.contains(" is for ")),
            "{refused:?}"
        );
    }
    ann.store.set_role(bob.account, Role::Read).await.unwrap();
    assert_eq!(role().await, Some(Role::Read));
    // Another's token is not to be revoked; the own one is, at once.
    let id = bob.store.my_tokens().await.unwrap()[0].id;
    ann.store.revoke_token(id).await.unwrap();
    assert_eq!(role().await, Some(Role::Read));
    bob.store.revoke_token(id).await.unwrap();
    assert_eq!(role().await, None);
    let token = bob.store.make_token("next", Role::Read).await.unwrap();
    ann.store.remove_member(bob.account).await.unwrap();
    assert_eq!(bob.people.of_token(&token).await.unwrap(), None);
    store.close().await;
}

async fn closing(ground: &Ground) {
    let store = ground.open().await;
    let ann = keeper(&store, "ann").await;
    let things = fill(&ann, &store).await;
    let bob = member(&store, &ann, "bob", Role::Brew).await;
    let draft = Draft::new("Stout", "og = \"1.050\"");
    bob.store
        .save(things.batch, number(2), &draft, at(9))
        .await
        .unwrap();
    // Bob's own group, with something of each kind in it.
    let groups = bob.store.my_groups().await.unwrap();
    let own = groups.iter().find(|g| g.own).unwrap().id;
    bob.store.look_at(own).await.unwrap();
    let (who, at_home) = seen(&bob.people, &store, &bob.token, at(10)).await;
    assert_eq!(who.group, own);
    let home = Person {
        people: bob.people.clone(),
        token: bob.token.clone(),
        account: bob.account,
        group: own,
        store: at_home,
    };
    let private = fill(&home, &store).await;
    home.store
        .share(private.batch, ann.group, Role::Read)
        .await
        .unwrap();
    assert!(ann.store.current(private.batch).await.is_ok());
    let data = home.store.my_data(HOUR).await.unwrap();
    assert_eq!(data.written.len(), 4, "{:?}", data.written);
    assert_eq!(data.groups.len(), 2);

    // A keeper with others in the group hands it over first.
    let refused = ann.store.close_my_account().await;
    assert!(
        matches!(refused, Err(StoreError::LastKeeper)),
        "{refused:?}"
    );
    let signed_in = ann.people.session(&ann.token, at(11), HOUR).await.unwrap();
    assert!(signed_in.is_some());

    home.store.close_my_account().await.unwrap();
    assert_eq!(
        bob.people.session(&bob.token, at(12), HOUR).await.unwrap(),
        None
    );
    assert_eq!(bob.people.by_name("bob").await.unwrap(), None);
    assert!(store.document(private.batch).await.is_err());
    assert!(store.document(private.water).await.is_err());
    assert_eq!(
        store.device_of_token(&private.device_token).await.unwrap(),
        None
    );
    // What was written for the others is there, without the name.
    let kept = ann.store.current(things.batch).await.unwrap();
    assert_eq!(kept.text, "og = \"1.050\"");
    let author = kept.info.author.unwrap();
    assert!(author.starts_with("former-"), "{author}");
    let told = format!(
        "{:?} {:?} {:?}",
        ann.store.audit(None, 99).await.unwrap(),
        ann.store.members().await.unwrap(),
        ann.store.history(things.batch).await.unwrap()
    );
    assert!(!told.contains("bob"), "{told}");
    assert_sound(&store).await;
    // The name is free again, and is nobody of before.
    let next = member(&store, &ann, "bob", Role::Read).await;
    assert_eq!(next.store.my_data(HOUR).await.unwrap().written.len(), 0);
    store.close().await;
}

/// A server of the version before has the store open while a new one changes the tables.
async fn version_before(ground: &Ground) {
    let old = Store::open_as_of(ground.place.as_str(), 6).await.unwrap();
    let id = plant(&old, Kind::Batch, "Stout").await;
    let store = ground.open().await;
    let ann = keeper(&store, "ann").await;
    let things = fill(&ann, &store).await;
    // The old one reads and writes on, its own and what was made since.
    let draft = Draft::new("Stout", "og = \"1.050\"");
    old.save(id, number(1), &draft, at(9)).await.unwrap();
    old.save(things.batch, number(2), &draft, at(9))
        .await
        .unwrap();
    let later = plant(&old, Kind::Batch, "Later").await;
    old.make_device("old", later, at(9)).await.unwrap();
    let one = [reading("p", "ph", 1, 5.0)];
    old.add_readings(later, &one).await.unwrap();
    assert_eq!(
        old.list(&ListRequest::of(Kind::Batch)).await.unwrap().total,
        3
    );
    // What it makes belongs to no group, and nobody sees it until it is given to one.
    assert_eq!(
        ann.store
            .list(&ListRequest::of(Kind::Batch))
            .await
            .unwrap()
            .total,
        1
    );
    let people = store.people().unwrap();
    assert_eq!(people.give_rest_to(ann.group, at(10)).await.unwrap(), 2);
    assert_eq!(
        ann.store
            .list(&ListRequest::of(Kind::Batch))
            .await
            .unwrap()
            .total,
        3
    );
    assert_eq!(ann.store.current(later).await.unwrap().document, later);
    old.close().await;
    store.close().await;
}

/// A group's words reach its own batches, and those of whoever runs the server what
/// belongs to no group.
async fn own_batches_alone(ground: &Ground) {
    let store = ground.open().await;
    let ann = keeper(&store, "ann").await;
    let eve = keeper(&store, "eve").await;
    let rest = plant(&store, Kind::Batch, "Nobody's").await;
    let of_ann = plant(&ann.store, Kind::Batch, "Ann's").await;
    let of_eve = plant(&eve.store, Kind::Batch, "Eve's").await;
    ann.store
        .share(of_ann, eve.group, Role::Brew)
        .await
        .unwrap();
    let going = async || {
        let said = store.consents().await.unwrap();
        let owned = store.owned_batches().await.unwrap();
        let in_it = owned.iter().filter(|b| said.since(b.id, b.group).is_some());
        in_it.map(|b| b.id).collect::<BTreeSet<_>>()
    };

    // Whoever runs the server speaks for no group, all together or one by one.
    store.say_consent(None, true, at(10)).await.unwrap();
    assert_eq!(going().await, [rest].into());
    let refused = came(store.say_consent(Some(of_ann), true, at(11))).await;
    assert!(
        matches!(&refused, Came::Refused(w) if w.contains("a keeper of the group that it belongs to")),
        "{refused:?}"
    );
    // A share lends a batch, and no word on it.
    let shared = came(eve.store.say_consent(Some(of_ann), true, at(12))).await;
    assert_eq!(shared, refused);
    let unseen = eve.store.say_consent(Some(rest), true, at(12)).await;
    assert!(
        matches!(unseen, Err(StoreError::NoSuchDocument { .. })),
        "{unseen:?}"
    );
    eve.store.say_consent(None, true, at(13)).await.unwrap();
    assert_eq!(going().await, [rest, of_eve].into());
    ann.store
        .say_consent(Some(of_ann), true, at(14))
        .await
        .unwrap();
    store.say_consent(None, false, at(15)).await.unwrap();
    assert_eq!(going().await, [of_ann, of_eve].into());

    // Each hears its own words.
    let said = eve.store.consents().await.unwrap();
    assert_eq!(said.0.len(), 1);
    assert_eq!(said.0[0].group, Some(eve.group));
    assert_eq!(said.of_everything(Some(eve.group)).unwrap().said_at, at(13));
    let owned = eve.store.owned_batches().await.unwrap();
    assert_eq!(owned.iter().map(|b| b.id).collect::<Vec<_>>(), [of_eve]);
    let trail = ann.store.audit(None, 1).await.unwrap();
    assert_eq!(
        (trail[0].what.as_str(), trail[0].thing.clone()),
        ("agree to the study", Some(of_ann.to_string()))
    );

    // What was agreed while a batch belonged to nobody does not bind the group that takes it.
    store.say_consent(Some(rest), true, at(16)).await.unwrap();
    let people = store.people().unwrap();
    people.give_rest_to(ann.group, at(17)).await.unwrap();
    assert_eq!(going().await, [of_ann, of_eve].into());

    // With an account that owned all of it alone, its words go too.
    let bob = member(&store, &ann, "bob", Role::Brew).await;
    let own = bob.store.my_groups().await.unwrap();
    let own = own.iter().find(|g| g.own).unwrap().id;
    bob.store.look_at(own).await.unwrap();
    let (_, home) = seen(&bob.people, &store, &bob.token, at(18)).await;
    let private = plant(&home, Kind::Batch, "Bob's").await;
    home.say_consent(None, true, at(19)).await.unwrap();
    home.say_consent(Some(private), true, at(20)).await.unwrap();
    assert!(going().await.contains(&private));
    let words = store.consents().await.unwrap().0.len();
    home.close_my_account().await.unwrap();
    let left = store.consents().await.unwrap().0;
    assert_eq!(left.len(), words - 2);
    assert!(left.iter().all(|word| word.group != Some(own)));
    assert_sound(&store).await;
    store.close().await;
}

/// However many ask at once, a group has so many jobs open; others have theirs.
async fn so_much_work(ground: &Ground) {
    let store = ground.open().await;
    let ann = keeper(&store, "ann").await;
    let eve = keeper(&store, "eve").await;
    let most = usize::try_from(MOST_OPEN).unwrap();
    let inputs: Vec<String> = (0..most + 4).map(|n| format!("{{\"n\":{n}}}")).collect();
    fn new(input: &str) -> NewJob<'_> {
        NewJob {
            input,
            ..work(None)
        }
    }
    let mut all = tokio::task::JoinSet::new();
    for input in inputs.clone() {
        let ann = ann.store.clone();
        all.spawn(async move { ann.ask_job(&new(&input), at(10)).await });
    }
    let (mut open, mut refused) = (Vec::new(), 0);
    while let Some(came) = all.join_next().await {
        match came.unwrap() {
            Ok(job) => open.push(job.id),
            Err(StoreError::TooManyJobs { most }) if most == MOST_OPEN => refused += 1,
            Err(other) => panic!("{other}"),
        }
    }
    assert_eq!((open.len(), refused), (most, 4));
    // One that is there is joined; another group, and another version, has room of its own.
    let input = store.job_texts(open[0]).await.unwrap().input;
    let joined = ann.store.ask_job(&new(&input), at(11)).await.unwrap();
    assert_eq!(joined.id, open[0]);
    eve.store.ask_job(&new(&input), at(11)).await.unwrap();
    let next = NewJob {
        version: "2",
        ..new(&input)
    };
    ann.store.ask_job(&next, at(11)).await.unwrap();
    // And whoever runs the server has no bound.
    for input in &inputs {
        store.ask_job(&new(input), at(11)).await.unwrap();
    }

    // One that runs holds its place; one that ended makes room, which asking again takes too.
    let full = || async {
        let asked = ann.store.ask_job(&new("{\"n\":99}"), at(12)).await;
        matches!(asked, Err(StoreError::TooManyJobs { .. }))
    };
    let lease = Duration::from_secs(1);
    let claimed = store.claim_job("w", "1", lease, at(12)).await.unwrap();
    assert!(open.contains(&claimed.unwrap().id) && full().await);
    let mut waiting = Vec::new();
    for id in &open {
        let job = ann.store.job(*id).await.unwrap();
        waiting.extend((job.state == JobState::Waiting).then_some(job.id));
    }
    assert_eq!(waiting.len(), most - 1);
    ann.store.cancel_job(waiting[0], at(13)).await.unwrap();
    ann.store.ask_again(waiting[0], at(14)).await.unwrap();
    assert!(full().await);
    let stopped = waiting[1];
    ann.store.cancel_job(stopped, at(15)).await.unwrap();
    // The question that found room is joined from then on.
    assert!(!full().await && !full().await);
    let again = ann.store.ask_again(stopped, at(16)).await;
    assert!(
        matches!(again, Err(StoreError::TooManyJobs { .. })),
        "{again:?}"
    );
    assert_eq!(
        ann.store.job(stopped).await.unwrap().state,
        JobState::Cancelled
    );
    let count = |state: JobState, all: &[(JobState, u64)]| {
        all.iter().find(|(s, _)| *s == state).map(|(_, n)| *n)
    };
    let counted = store.jobs_by_state().await.unwrap();
    assert_eq!(counted.len(), JobState::ALL.len());
    assert_eq!(count(JobState::Running, &counted), Some(1));
    assert_eq!(count(JobState::Cancelled, &counted), Some(1));
    assert_eq!(count(JobState::Done, &counted), Some(0));
    store.close().await;
}

/// Two servers over one store count to one number.
async fn tries(ground: &Ground) {
    let (one, two) = (ground.open().await, ground.open().await);
    let (a, b) = (one.people().unwrap(), two.people().unwrap());
    for n in 1..=6 {
        let door = if n % 2 == 0 { &a } else { &b };
        let (count, since) = door.count_try("name ann", at(n), 100).await.unwrap();
        assert_eq!((count, since), (n, at(1)));
    }
    assert_eq!(a.count_try("name bob", at(7), 100).await.unwrap().0, 1);
    let (count, since) = a.count_try("name ann", at(102), 100).await.unwrap();
    assert_eq!((count, since), (1, at(102)));
    b.forget_tries("name ann", at(0)).await.unwrap();
    assert_eq!(a.count_try("name ann", at(103), 100).await.unwrap().0, 1);
    one.close().await;
    two.close().await;
}

/// Two keepers who go at the same moment: one of them stays.
async fn two_keepers(ground: &Ground) {
    let store = ground.open().await;
    let ann = keeper(&store, "ann").await;
    let bob = member(&store, &ann, "bob", Role::Keep).await;
    let _ = member(&store, &ann, "cat", Role::Read).await;
    let (a, b) = tokio::join!(ann.store.leave_group(), bob.store.leave_group());
    assert_eq!(u8::from(a.is_ok()) + u8::from(b.is_ok()), 1, "{a:?} {b:?}");
    store.close().await;
}
