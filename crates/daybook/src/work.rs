//! The work list of a folder: which record waits for what, in which scope, for whom, and who did what
//! before; what waits for the person at work comes first, across pasteurizers.

use crate::entry::Entry;
use case::{CAUTION, plural};
use chrono::NaiveDate;
use review::{Known, Mark, Meaning, Role, Scope, Stage, Standing, State};
use serde_json::{Value, json};
use trace::Lines;

/// What a record waits for, in the order of the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum WaitsFor {
    /// Somebody to look: it can't be read, or is not what was signed, or nobody vouches for it.
    Look,
    /// A supervisor returned an exception, which is to be resolved again.
    Returned,
    /// A signature as reviewed.
    Review,
    /// A signature as approved.
    Approval,
    /// The end of a hold.
    HoldEnd,
}

impl WaitsFor {
    /// All of them, in order.
    pub const ALL: [Self; 5] =
        [Self::Look, Self::Returned, Self::Review, Self::Approval, Self::HoldEnd];

    /// Key and name.
    const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Look => ("look", "to look at"),
            Self::Returned => ("returned", "returned"),
            Self::Review => ("review", "to review"),
            Self::Approval => ("approval", "to approve"),
            Self::HoldEnd => ("hold_end", "on hold"),
        }
    }

    /// The key in tables.
    pub const fn key(self) -> &'static str {
        self.words().0
    }

    /// The words for a person.
    pub const fn name(self) -> &'static str {
        self.words().1
    }
}

/// What somebody did before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Did<'a> {
    /// What, as the past of a verb: `reviewed`, `approved`, `returned`, `put on hold`.
    pub what: &'static str,
    /// Who, and when.
    pub mark: &'a Mark,
    /// Their printed name.
    pub name: &'a str,
    /// What there is to say; blank where nothing is.
    pub remark: String,
}

impl Did<'_> {
    fn in_words(&self) -> String {
        let Self { what, mark, name, remark } = self;
        let colon = if remark.is_empty() { "" } else { ": " };
        format!("{what} by {name}, {}{colon}{remark}", mark.at.minute())
    }
}

/// A line of the work list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WorkRow<'a> {
    /// The place of the record in the folder.
    pub place: usize,
    /// Its name.
    pub record: String,
    /// Its date; `None` where it has none.
    pub date: Option<NaiveDate>,
    /// Its pasteurizer; blank where it is not known.
    pub unit: &'a str,
    /// How far its review is.
    pub stage: Stage,
    /// Whether it can be read.
    pub is_readable: bool,
    /// What it waits for.
    pub waits_for: WaitsFor,
    /// In which scopes.
    pub scopes: Vec<Scope>,
    /// Who may do it; `None`: whoever may sign.
    pub role: Option<Role>,
    /// Whether it waits for the person at work.
    pub is_mine: bool,
    /// The last day for the review; `None` where none is due.
    pub due: Option<NaiveDate>,
    /// Whether that day is over.
    pub is_overdue: bool,
    /// Who did what before.
    pub before: Vec<Did<'a>>,
    /// How far it is, or what is wrong, in a sentence; blank where `before` says all.
    pub standing: String,
}

/// What waits in a folder.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct WorkList<'a> {
    /// The lines, those for the person at work first.
    rows: Vec<WorkRow<'a>>,
    /// The printed name of the person at work; `None` where no register knows them.
    person: Option<&'a str>,
}

/// What waits, and for whom, before it is put in order.
struct Item {
    waits_for: WaitsFor,
    scopes: Vec<Scope>,
    role: Option<Role>,
    standing: String,
}

impl<'a> WorkList<'a> {
    /// What waits in a folder; `person` is the identifier of whoever is at work, blank for nobody.
    pub fn of(entries: &'a [Entry], person: &str, today: NaiveDate) -> Self {
        let mut rows: Vec<WorkRow<'a>> = Vec::new();
        for (place, entry) in entries.iter().enumerate() {
            let role = role_of(entry, person);
            for item in items(entry) {
                rows.push(row((place, entry), item, (person, role), today));
            }
        }
        let order = |row: &WorkRow<'a>| {
            let key = (!row.is_mine, !row.is_overdue, row.waits_for, row.date);
            (key, row.unit, row.place)
        };
        rows.sort_by(|one, other| order(one).cmp(&order(other)));
        let known = entries.iter().find(|entry| role_of(entry, person).is_some());
        let person = known.and_then(|entry| entry.review.names.get(person));
        Self { rows, person: person.map(String::as_str) }
    }

    /// The lines, those for the person at work first.
    pub fn rows(&self) -> &[WorkRow<'a>] {
        &self.rows
    }

    /// The printed name of the person at work; `None` where no register knows them.
    pub const fn person(&self) -> Option<&'a str> {
        self.person
    }

    /// The lines for the person at work.
    pub fn mine(&self) -> impl Iterator<Item = &WorkRow<'a>> {
        self.rows.iter().filter(|row| row.is_mine)
    }

    /// How many lines wait for something.
    pub fn count(&self, waits_for: WaitsFor) -> usize {
        self.rows.iter().filter(|row| row.waits_for == waits_for).count()
    }

    /// How many are overdue.
    pub fn overdue(&self) -> usize {
        self.rows.iter().filter(|row| row.is_overdue).count()
    }

    /// The records to go through, each once and those left out that can't be read: those that wait for
    /// the person at work, or, where nobody is known, those to be reviewed.
    pub fn round(&self) -> Vec<&WorkRow<'a>> {
        let is_in = |row: &&WorkRow<'a>| match self.person {
            Some(_) => row.is_mine,
            None => !matches!(row.waits_for, WaitsFor::Approval | WaitsFor::HoldEnd),
        };
        let mut round: Vec<&WorkRow<'a>> = Vec::new();
        for row in self.rows.iter().filter(is_in).filter(|row| row.is_readable) {
            if round.iter().all(|other| other.place != row.place) {
                round.push(row);
            }
        }
        round
    }

    /// How many of each there are, in words; blank where nothing waits.
    pub fn counts_in_words(&self) -> String {
        let overdue = (self.overdue(), "overdue");
        let counts = WaitsFor::ALL.map(|one| (self.count(one), one.name()));
        let counts = counts.into_iter().chain([overdue]).filter(|(count, _)| *count > 0);
        counts.map(|(count, name)| format!("{count} {name}")).collect::<Vec<_>>().join(", ")
    }

    /// The list for a person.
    pub fn text(&self) -> Lines {
        let mut text = Lines::new();
        let (mine, others): (Vec<_>, Vec<_>) = self.rows.iter().partition(|row| row.is_mine);
        if let Some(person) = self.person {
            text.line(format_args!("For {person}: {}", plural(mine.len(), "item")));
            for row in mine {
                row.line(&mut text);
            }
            text.end();
            text.line(format_args!("For others: {}", plural(others.len(), "item")));
        }
        for row in others {
            row.line(&mut text);
        }
        if self.rows.is_empty() {
            text.line(format_args!("Nothing is waiting."));
        } else {
            text.end();
            text.line(format_args!("{}", self.counts_in_words()));
        }
        text.end();
        text.line(format_args!("{CAUTION}"));
        text
    }

    /// The list for a program. The members are described in `docs/file-formats.md`.
    pub fn json(&self) -> Value {
        json!({
            "schema": 1,
            "caution": CAUTION,
            "person": self.person,
            "items": self.rows.iter().map(WorkRow::json).collect::<Vec<_>>(),
        })
    }
}

impl WorkRow<'_> {
    /// What it waits for, with whether that is late.
    pub fn waits_in_words(&self) -> String {
        let late = if self.is_overdue { ", overdue" } else { "" };
        format!("{}{late}", self.waits_for.name())
    }

    /// The scopes in words; blank where the whole record is meant.
    pub fn scopes_in_words(&self) -> String {
        let names = self.scopes.iter().filter_map(Scope::shift_name);
        let names: Vec<&str> = names.collect();
        match names.as_slice() {
            [] => String::new(),
            [name] => format!("shift {name}"),
            names => format!("shifts {}", names.join(", ")),
        }
    }

    /// For whom it waits.
    pub fn role_in_words(&self) -> String {
        self.role.map_or_else(|| "anyone".to_owned(), |role| role.to_string())
    }

    /// Who did what before, and how far it is.
    pub fn standing_in_words(&self) -> String {
        let before = self.before.iter().map(Did::in_words);
        let standing = Some(self.standing.clone()).filter(|text| !text.is_empty());
        before.chain(standing).collect::<Vec<_>>().join("; ")
    }

    fn line(&self, text: &mut Lines) {
        let date = self.date.map_or_else(|| "no date".to_owned(), |date| date.to_string());
        let due = self.due.map_or_else(String::new, |due| format!(", review due {due}"));
        let scopes = match self.scopes_in_words() {
            scopes if scopes.is_empty() => scopes,
            scopes => format!(", {scopes}"),
        };
        let (unit, record, role) = (self.unit, &self.record, self.role_in_words());
        let waits = self.waits_in_words();
        text.line(format_args!("{date}  {unit}  {record}  {waits}{scopes} ({role}{due})"));
        text.line(format_args!("    {}", self.standing_in_words()));
    }

    fn json(&self) -> Value {
        let before = self.before.iter().map(|did| {
            json!({
                "what": did.what,
                "by": did.mark.by,
                "name": did.name,
                "at": did.mark.at.to_string(),
                "remark": did.remark,
            })
        });
        json!({
            "record": self.record,
            "date": self.date,
            "unit": self.unit,
            "stage": self.stage.key(),
            "waits_for": self.waits_for.key(),
            "scopes": self.scopes,
            "role": self.role,
            "mine": self.is_mine,
            "due": self.due,
            "overdue": self.is_overdue,
            "before": before.collect::<Vec<_>>(),
            "standing": self.standing,
        })
    }
}

fn row<'a>(
    (place, entry): (usize, &'a Entry),
    item: Item,
    (person, own): (&str, Option<Role>),
    today: NaiveDate,
) -> WorkRow<'a> {
    let Item { waits_for, scopes, role, standing } = item;
    // "Anyone" is anyone who reviews.
    let may = own.is_some_and(|own| own != Role::Operator && role.is_none_or(|role| role == own));
    // Who reviewed all of it leaves the approval to somebody else.
    let is_own = |scope: &Scope| {
        entry.review.state.as_ref().is_some_and(|state| state.is_own_review(scope, person))
    };
    let is_barred = waits_for == WaitsFor::Approval && scopes.iter().all(is_own);
    let due = match waits_for {
        WaitsFor::Approval | WaitsFor::HoldEnd => None,
        WaitsFor::Look | WaitsFor::Returned | WaitsFor::Review => entry.due(),
    };
    WorkRow {
        place,
        record: entry.name(),
        date: entry.date(),
        unit: entry.unit(),
        stage: entry.review.stage,
        is_readable: entry.day.is_ok(),
        before: before(entry, waits_for, &scopes),
        waits_for,
        scopes,
        role,
        is_mine: may && !is_barred,
        due,
        is_overdue: due.is_some_and(|due| due < today),
        standing,
    }
}

/// What a record waits for.
fn items(entry: &Entry) -> Vec<Item> {
    let mut items = Vec::new();
    let mut wait = |waits_for, scopes, role, standing: String| {
        items.push(Item { waits_for, scopes, role, standing });
    };
    let state = entry.review.state.as_ref();
    let whole = || vec![Scope::DAY];
    let progress = || entry.exceptions_in_words().unwrap_or_else(|| entry.sentence().to_owned());
    let stage = entry.review.stage;
    let (reviews, looks) = (Some(reviewer(entry)), || wrong(entry));
    match (&entry.day, stage) {
        (Err(_), _) => wait(
            WaitsFor::Look,
            whole(),
            None,
            format!("can\u{2019}t be read: {}", entry.sentence()),
        ),
        (Ok(_), Stage::ChangedSinceSigning) => wait(WaitsFor::Look, whole(), None, looks()),
        (Ok(_), Stage::Unproven) => {
            wait(WaitsFor::Look, whole(), Some(Role::Supervisor), looks());
        }
        (Ok(_), Stage::MethodChanged) => {
            wait(WaitsFor::Review, whole(), reviews, stage.name().to_owned());
        }
        (Ok(_), Stage::Unread) => wait(WaitsFor::Review, whole(), reviews, progress()),
        (Ok(_), Stage::BeingReviewed | Stage::Reviewed) => {
            let (review, approve) = state
                .map_or_else(|| (whole(), Vec::new()), |one| (one.to_review(), one.to_approve()));
            if state.is_some_and(|state| state.returned().next().is_some()) {
                wait(WaitsFor::Returned, review, reviews, progress());
            } else if !review.is_empty() {
                wait(WaitsFor::Review, review, reviews, progress());
            }
            if !approve.is_empty() {
                wait(WaitsFor::Approval, approve, Some(Role::Supervisor), String::new());
            }
        }
        (Ok(_), Stage::Signed) => {}
    }
    let is_finished = matches!((&entry.day, stage), (Ok(_), Stage::Signed));
    if items.is_empty() && !is_finished {
        // It bears all signatures, and yet something is not as it must be.
        let role = Some(Role::Supervisor);
        items.push(Item {
            waits_for: WaitsFor::Look,
            scopes: whole(),
            role,
            standing: wrong(entry),
        });
    }
    let open = entry.review.holds().iter().filter(|hold| hold.is_open());
    let open: Vec<String> = open.map(|hold| format!("{}: {}", hold.name, hold.what())).collect();
    if !open.is_empty() {
        let anyone = state.is_some_and(|state| state.subject().technician_ends_holds);
        let role = if anyone { None } else { Some(Role::Supervisor) };
        let (waits_for, standing) = (WaitsFor::HoldEnd, open.join("; "));
        items.push(Item { waits_for, scopes: whole(), role, standing });
    }
    items
}

/// What does not hold of a review, in a sentence.
fn wrong(entry: &Entry) -> String {
    let faults = entry.review.faults.first();
    let stage = entry.review.stage.name();
    faults.map_or_else(|| stage.to_owned(), |fault| format!("{stage}: {fault}"))
}

/// Who did what before somebody is to do something in some scopes.
fn before<'a>(entry: &'a Entry, waits_for: WaitsFor, scopes: &[Scope]) -> Vec<Did<'a>> {
    let Some(state) = &entry.review.state else { return Vec::new() };
    let did = |what, mark: &'a Mark, remark: String| Did {
        what,
        mark,
        name: entry.review.name_of(&mark.by),
        remark,
    };
    match waits_for {
        WaitsFor::Returned => {
            let returned = state.returned().filter_map(|standing| match standing {
                Standing::SentBack { remark, mark, .. } => {
                    Some(did("returned", mark, remark.clone()))
                }
                Standing::Open | Standing::Settled { .. } => None,
            });
            returned.collect()
        }
        WaitsFor::Approval => {
            let reviews = reviews(state).filter(|(scope, _)| {
                scopes.iter().any(|waits| scope == &waits || **scope == Scope::DAY)
            });
            let remark =
                |scope: &Scope| scope.shift_name().map_or_else(String::new, |_| scope.to_string());
            reviews.map(|(scope, mark)| did("reviewed", mark, remark(scope))).collect()
        }
        WaitsFor::Review => {
            let others =
                reviews(state).map(|(scope, mark)| did("reviewed", mark, scope.to_string()));
            others.collect()
        }
        WaitsFor::HoldEnd => {
            let open = entry.review.holds().iter().filter(|hold| hold.is_open());
            open.map(|hold| did("put on hold", &hold.since, String::new())).collect()
        }
        WaitsFor::Look => Vec::new(),
    }
}

/// The reviews that nothing has superseded.
fn reviews(state: &State) -> impl Iterator<Item = (&Scope, &Mark)> {
    let current = state.signatures().iter().filter(|one| one.is_current());
    let reviews = current.filter(|one| one.meaning == Meaning::Reviewed);
    reviews.map(|one| (&one.scope, &one.mark))
}

/// The role of a person in the register that a record was checked against.
fn role_of(entry: &Entry, person: &str) -> Option<Role> {
    let signers = entry.review.books.as_ref()?.signers.iter();
    let mut known = signers.filter(|known| known.signer == person && !known.is_revoked);
    known.next().map(|known| known.role)
}

/// Who reviews at a plant: its technicians, or its supervisors where it has no technician.
fn reviewer(entry: &Entry) -> Role {
    let signers = entry.review.books.as_ref().map(|books| books.signers.as_slice());
    let reviews = |known: &&Known| !known.is_revoked && known.role != Role::Operator;
    let mut active = signers.unwrap_or_default().iter().filter(reviews).peekable();
    let is_known = active.peek().is_some();
    if is_known && active.all(|known| known.role == Role::Supervisor) {
        Role::Supervisor
    } else {
        Role::Technician
    }
}
