//! Whether a record is what was signed, link by link: the chain, the rules, the register of signers and
//! the ledger, the sources, the plant file and its approval, the audit, every line and signature.

use crate::differs::results_differ;
use crate::ending::Shown;
use crate::entries_signed::EntriesSigned;
use crate::hole::HoleBefore;
use crate::seals::broken_seals;
use crate::state::{Proof, Signed, State};
use crate::subject::{Source, Subject};
use crate::tube::{TubeOnDay, TubeStanding};
use analysis::METHOD;
use journal::{CLOCK_TOLERANCE, Digest, Fault, Line, Reading};
use signers::{Act, Books, Found, Meaning, Register, Role, SignerId, Verdict};
use std::fmt;
use std::path::Path;
use trace::Instant;

/// What a journal is checked against.
#[derive(Debug, Clone)]
pub struct Evidence<'a> {
    /// The journal's lines, as far as they can be read.
    pub lines: &'a [Line],
    /// Why it can't be read further.
    pub fault: Option<&'a Fault>,
    /// Its file, as the ledger names it: see [`Books::name_of`].
    pub name: String,
    /// The register of signers and the ledger.
    pub books: &'a Books,
    /// The record as it is read and audited now; a sentence where it can't be.
    pub fresh: Result<&'a Subject, String>,
    /// The hole before the record that is to be closed. A record alone knows none: whoever goes
    /// through the folder does.
    pub hole: Option<&'a HoleBefore>,
    /// Where the record lies, and beside it the files that ended holds; `None` where that is not known.
    pub folder: Option<&'a Path>,
    /// The time by this machine's clock.
    pub now: Instant,
}

impl<'a> Evidence<'a> {
    /// What there is about the journal that was read from the file `path`.
    pub fn new(
        (journal, path): (&'a Reading, &'a Path),
        books: &'a Books,
        fresh: Result<&'a Subject, String>,
        hole: Option<&'a HoleBefore>,
        now: Instant,
    ) -> Self {
        let Reading { lines, fault, .. } = journal;
        let (fault, name, folder) = (fault.as_ref(), books.name_of(path), path.parent());
        Self { lines, fault, name, books, fresh, hole, folder, now }
    }
}

/// What a link is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// That each line of the journal follows the one above.
    Chain,
    /// That every entry was allowed where it stands.
    Rules,
    /// The register of signers.
    Register,
    /// The ledger.
    Ledger,
    /// A file of the record, or the record that the journal speaks of.
    File,
    /// The plant file.
    PlantFile,
    /// That the plant file was approved.
    Approval,
    /// That the audit, done again, gives the same.
    Audit,
    /// The hole before the record.
    Hole,
    /// A file that shows why a hold could be ended.
    Shown,
    /// That the operators' entries are those that an operator signed.
    Entries,
    /// A seal that was broken while the record ran.
    Seal,
    /// The holding tube, by the register, on the record's day.
    Tube,
    /// Who made a line, and when.
    Line,
    /// That what must be signed is: older programs asked for no signature.
    Unsigned,
    /// A signature under the record.
    Signature,
    /// The signature of another line.
    SignedLine,
    /// Whether everything is signed.
    SignOff,
}

/// One link and whether it holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    /// What it is about.
    pub kind: Kind,
    /// What was checked.
    pub what: String,
    /// Whether it holds.
    pub holds: bool,
    /// What was found, in a sentence.
    pub found: String,
}

impl Link {
    /// What was checked and what was found, without the verdict.
    pub fn in_words(&self) -> String {
        format!("{}: {}", self.what, self.found)
    }
}

impl fmt::Display for Link {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let verdict = if self.holds { "holds" } else { "FAILS" };
        write!(formatter, "{verdict}  {}", self.in_words())
    }
}

/// The verdicts on all links of one record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verification {
    /// In the order in which they were checked.
    pub links: Vec<Link>,
    /// The version of the method of the audit that the journal speaks of, where this program follows
    /// another that does not find the same: then that audit can't be done again here, and the link of
    /// that name does not hold.
    pub other_method: Option<u64>,
    /// Whether the ledger and the journal contradict each other.
    pub is_contradicted: bool,
    /// The digest of the journal's last good line.
    pub head: Digest,
    /// How many good lines the journal has.
    pub lines: usize,
}

impl Verification {
    /// Whether every link holds.
    pub fn holds(&self) -> bool {
        self.links.iter().all(|link| link.holds)
    }

    /// Whether every link holds but perhaps that everything is signed.
    pub fn is_intact(&self) -> bool {
        self.fails_only_in(&[Kind::SignOff])
    }

    /// Whether nothing is wrong but that the ledger does not know the signatures, or nobody approved the
    /// plant file: nothing was changed, and a supervisor has to say so.
    pub fn is_intact_but_for_the_books(&self) -> bool {
        let books = [Kind::SignOff, Kind::Ledger, Kind::Approval, Kind::Unsigned, Kind::Entries];
        !self.is_contradicted && self.fails_only_in(&books)
    }

    fn fails_only_in(&self, kinds: &[Kind]) -> bool {
        self.links.iter().all(|link| link.holds || kinds.contains(&link.kind))
    }

    /// Why nothing may be added to the journal, in sentences: what stands in it can't be relied on.
    pub fn forbids(&self) -> Vec<String> {
        let weighs = |link: &&Link| match link.kind {
            // A journal that is not there yet is begun.
            Kind::Chain => self.lines > 0,
            Kind::Rules | Kind::Signature | Kind::SignedLine | Kind::Register => true,
            Kind::Ledger | Kind::Unsigned => self.is_contradicted,
            _ => false,
        };
        let failing = self.links.iter().filter(|link| !link.holds).filter(weighs);
        failing.map(Link::in_words).collect()
    }

    /// Whether every link holds but that the audit is of another version of the method, and perhaps
    /// that everything is signed, or that the hole before the record is open: then nothing was
    /// changed, and the new audit is to be entered. Until then nothing can be signed, and the hole
    /// is told again after it.
    pub fn is_intact_but_for_the_method(&self) -> bool {
        self.other_method.is_some()
            && !self.is_contradicted
            && self.fails_only_in(&[
                Kind::SignOff,
                Kind::Audit,
                Kind::Hole,
                Kind::Ledger,
                Kind::Approval,
                Kind::Unsigned,
            ])
    }
}

/// The name of the link that says whether the audit, done again, gives the same.
pub const AUDIT: &str = "audit";
/// The name of the link that says whether the hole before the record is closed.
pub const HOLE: &str = "hole before the record";
/// The name of the last link: whether everything is signed.
pub const SIGN_OFF: &str = "sign-off";

/// Takes a link: what it is about, its name, whether it holds, what was found.
type Take<'a> = &'a mut dyn FnMut(Kind, &str, bool, String);

/// Checks a journal against the plant's books and against the record as it is read and audited now.
pub fn verify(evidence: &Evidence<'_>) -> Verification {
    let (state, broken) = State::replay_as_far(evidence.lines, evidence.books.signers());
    verify_state(evidence, state.as_ref(), broken.map(|(line, why)| (line, why.to_string())))
}

/// The same where the lines were replayed already.
pub(crate) fn verify_state(
    evidence: &Evidence<'_>,
    state: Option<&State>,
    broken: Option<(u64, String)>,
) -> Verification {
    let Evidence { lines, fault, books, fresh, hole, .. } = evidence;
    let mut links = Vec::new();
    let mut is_contradicted = false;
    let mut link = |kind: Kind, what: &str, holds: bool, found: String| {
        links.push(Link { kind, what: what.to_owned(), holds, found });
    };
    match fault {
        None if lines.is_empty() => {
            link(Kind::Chain, "chain", false, "there is no journal".to_owned());
        }
        None => {
            let found = format!("{} lines, each follows the one above", lines.len());
            link(Kind::Chain, "chain", true, found);
        }
        Some(fault) => link(Kind::Chain, "chain", false, fault.to_string()),
    }
    // What holds up to a broken rule is still worth telling.
    match broken {
        Some((line, why)) => link(Kind::Rules, "rules", false, format!("line {line}: {why}")),
        None if state.is_some() => {
            let found = "every entry was allowed where it stands".to_owned();
            link(Kind::Rules, "rules", true, found);
        }
        None => {}
    }
    // One that kept the register from being used is its link already.
    let told = books.register.as_ref().err();
    for alarm in books.alarms.iter().filter(|alarm| state.is_none() || Some(*alarm) != told) {
        link(Kind::Register, REGISTER, false, alarm.clone());
    }
    if state.is_none()
        && let Some(ledger) = books.known_ledger()
        && let Found::Contradicts(why) = ledger.of_journal(&evidence.name, lines)
    {
        is_contradicted = true;
        link(Kind::Ledger, "ledger", false, why);
    }
    let of_method = state.map(|state| state.subject().method).filter(|method| *method != METHOD);
    let gives_the_same = |state: &State| {
        fresh.as_ref().is_ok_and(|fresh| is_same_by_a_newer_method(state.subject(), fresh))
    };
    let other_method = of_method.filter(|_| !state.is_some_and(gives_the_same));
    if let Some(state) = state {
        match &books.register {
            Ok(register) => {
                link(Kind::Register, REGISTER, true, register_in_words(books, register));
            }
            Err(why) => link(Kind::Register, REGISTER, false, why.clone()),
        }
        let (standing, found) = in_ledger(evidence, state);
        is_contradicted = standing == InLedger::Contradicts;
        link(Kind::Ledger, "ledger", standing == InLedger::Agrees, found);
        against_files(&mut link, state.subject(), fresh.clone());
        if let Some((holds, found)) = approval(evidence, state) {
            link(Kind::Approval, "plant file approval", holds, found);
        }
        if let Some(hole) = hole {
            let (holds, found) = hole_before(state, hole);
            link(Kind::Hole, HOLE, holds, found);
        }
        if let Some(source) = &state.subject().operator_entries {
            let signed = EntriesSigned::of(books, &evidence.name, source);
            if let Some((holds, found)) = signed.link(&source.sha256) {
                link(Kind::Entries, "operators\u{2019} entries", holds, found);
            }
        }
        if let Some(folder) = evidence.folder {
            shown(&mut link, state, folder);
        }
        if let (Some(register), Ok(fresh)) = (books.signers(), fresh) {
            seals(&mut link, state, register, fresh);
            if let Some(on_day) = fresh.tube_on_day(register) {
                tube(&mut link, approval_knew(state, register), &on_day);
            }
        }
        if let Some(register) = books.signers() {
            is_contradicted |= people(&mut link, evidence, state, register);
        }
        for signed in state.signatures() {
            let what = format!("signature, line {}", signed.mark.line);
            link(Kind::Signature, &what, signed.verdict.holds(), signed.found());
        }
        let covered = |meaning| state.covered_at(meaning).is_some();
        let found = match (covered(Meaning::Reviewed), covered(Meaning::Approved)) {
            (_, true) => "current signatures cover the whole record, reviewed and approved",
            (true, false) => "reviewed, but no current signature approves the whole record",
            (false, false) => "no current signatures cover the whole record",
        };
        let of_method = of_method.filter(|_| covered(Meaning::Reviewed));
        let of_method = of_method.map_or_else(String::new, |method| {
            format!(", as audited by version {method} of the method")
        });
        let found = format!("{found}{of_method}");
        link(Kind::SignOff, SIGN_OFF, covered(Meaning::Approved), found);
    }
    let head = lines.last().map_or(Digest::NONE, Line::digest);
    Verification { links, other_method, is_contradicted, head, lines: lines.len() }
}

/// The name of the links about the register of signers.
const REGISTER: &str = "register of signers";

fn register_in_words(books: &Books, register: &Register) -> String {
    let file = books.path.file_name().map(|name| name.to_string_lossy().into_owned());
    let first = register.first().map_or_else(String::new, |first| {
        format!("; created by {}, fingerprint {}", first.id(), first.public_key().fingerprint())
    });
    format!(
        "{}, {} lines, the last with sha256 {}{first}",
        file.unwrap_or_default(),
        register.len(),
        register.head()
    )
}

/// What the ledger says of a journal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum InLedger {
    /// It has what was signed, or there is nothing signed to have.
    Agrees,
    /// It does not know of it.
    Lacks,
    /// It says otherwise.
    Contradicts,
}

fn in_ledger(evidence: &Evidence<'_>, state: &State) -> (InLedger, String) {
    let Evidence { lines, name, books, .. } = evidence;
    let last = state.proofs().iter().rfind(|proof| proof.verdict.is_some());
    let last = last.map(|proof| proof.mark.line);
    let ledger = match &books.ledger {
        Ok(Some(ledger)) => ledger,
        Ok(None) | Err(_) if last.is_none() => {
            return (InLedger::Agrees, "nothing is signed yet".to_owned());
        }
        Ok(None) => {
            let found = "there is no ledger beside the register of signers, so a journal that was cut short would not be noticed; a supervisor takes stock: holdtrace ledger stock";
            return (InLedger::Lacks, found.to_owned());
        }
        Err(why) => return (InLedger::Contradicts, why.clone()),
    };
    match (ledger.of_journal(name, lines), last) {
        (Found::Contradicts(why), _) => (InLedger::Contradicts, why),
        (Found::Nothing, None) => (InLedger::Agrees, "nothing is signed yet".to_owned()),
        (Found::Nothing, Some(line)) => {
            (InLedger::Lacks, format!("it does not know the signature of line {line}; {MENDED}"))
        }
        (Found::Agrees(posted), last) => {
            let has = format!("line {} has {} lines of it", posted.line, posted.stood.lines);
            match last.filter(|last| *last > posted.stood.lines) {
                Some(line) => (
                    InLedger::Lacks,
                    format!("{has} and does not know the signature of line {line}; {MENDED}"),
                ),
                None => {
                    (InLedger::Agrees, format!("{has}, the last with sha256 {}", posted.stood.head))
                }
            }
        }
    }
}

/// What to do about a signature that the ledger lacks.
const MENDED: &str = "the program was stopped between the two, or the ledger was cut short: the next \
                      signature under the record enters it, or a supervisor does: holdtrace ledger stock";

/// Whether the plant file that a record was audited with was approved then; `None` where the plant was
/// assumed.
fn approval(evidence: &Evidence<'_>, state: &State) -> Option<(bool, String)> {
    let audited = state.audited();
    let at = audited.map_or(evidence.now, |mark| mark.at.instant());
    let line = audited.map_or(0, |mark| mark.line);
    let Some(register) = evidence.books.signers() else {
        let found = "it can't be determined without the register of signers".to_owned();
        return state.subject().plant_file.as_ref().map(|_| (false, found));
    };
    let (approved, found) = limits_approved(register, state.subject(), at)?;
    if !approved && line > 0 && line <= accepted(evidence) {
        let found =
            "it was not approved then; a supervisor accepted the record when stock was taken";
        return Some((true, found.to_owned()));
    }
    Some((approved, found))
}

/// Whether the limits of a record that is audited at a time count: a supervisor has approved its plant
/// file, and what was found, in a sentence. `None` where the plant was assumed and the register knows no
/// plant file that should have been used.
pub fn limits_approved(
    register: &Register,
    subject: &Subject,
    at: Instant,
) -> Option<(bool, String)> {
    if let Some(file) = &subject.plant_file {
        let (approved, found) = plant_file_approved(register, &file.sha256, at);
        return Some((approved, format!("{found} ({})", file.name)));
    }
    let in_force =
        register.plant_files().iter().find(|one| register.plant_file_at(&one.sha256, at).is_some());
    in_force.map(|one| {
        let found = "NOT APPROVED: no plant file was used, and a supervisor has approved";
        (false, format!("{found} {}", one.name))
    })
}

/// Whether the register says that a plant file counts at a time, by the digest of its bytes, and what it
/// says, in a sentence.
pub fn plant_file_approved(register: &Register, sha256: &str, at: Instant) -> (bool, String) {
    if let Some(one) = register.plant_file_at(sha256, at) {
        let second = one.second.as_ref().map_or_else(String::new, |by| format!(" and {by}"));
        return (true, format!("approved by {}{second}, {}", one.by, one.at));
    }
    let known = register.plant_files().iter().rev().find(|one| one.sha256 == sha256);
    let found = match known {
        Some(one) => match one.withdrawn {
            Some(withdrawn) if withdrawn.instant() < at => {
                format!("NOT APPROVED: its approval was withdrawn, {withdrawn}")
            }
            _ => format!("NOT APPROVED when the record was audited: only since {}", one.at),
        },
        None => "NOT APPROVED: no supervisor has approved its limits in the register of signers"
            .to_owned(),
    };
    (false, found)
}

/// Up to which line a supervisor accepted the journal when stock was taken.
fn accepted(evidence: &Evidence<'_>) -> u64 {
    let ledger = evidence.books.known_ledger();
    ledger.map_or(0, |ledger| ledger.stock_of(evidence.lines))
}

/// Up to which line of the register the last standing approval knew it; `None` before one.
fn approval_knew(state: &State, register: &Register) -> Option<u64> {
    let approvals = state.signatures().iter();
    let approvals = approvals.filter(|one| one.stands() && one.meaning == Meaning::Approved);
    let lines = approvals.filter_map(|one| {
        let place = register.digests().position(|line| line.to_string() == one.register)?;
        Some(place as u64 + 1)
    });
    lines.max()
}

/// Whether the record was approved by a tube that was known to hold for less.
fn tube(link: Take<'_>, known: Option<u64>, on_day: &TubeOnDay) {
    let words = on_day.words.trim_start_matches("holding tube: ");
    let is_less_strict = on_day.standing == TubeStanding::LessStrict;
    let (holds, found) = match (known, on_day.line) {
        _ if !is_less_strict => (true, words.to_owned()),
        (Some(known), Some(line)) if line <= known => {
            (false, format!("{words}; it was approved all the same"))
        }
        (Some(_), _) => (true, format!("{words}; entered after the approval")),
        (None, _) => (true, format!("{words}; to be put right before the approval")),
    };
    link(Kind::Tube, "holding tube", holds, found);
}

/// Whether somebody said what each broken seal means, where the approval knew of it.
fn seals(link: Take<'_>, state: &State, register: &Register, fresh: &Subject) {
    let known = approval_knew(state, register);
    for seal in broken_seals(register, fresh) {
        let Some((_, entered)) = &seal.broken else { continue };
        let (words, what) = (seal.in_words(), format!("seal {}", seal.sealed.seal));
        let (holds, found) = match (state.seal_noted(&seal.sealed.seal), known) {
            (Some(made), _) => {
                (true, format!("{words}; noted by {}: {}", made.mark.by, made.value))
            }
            (None, Some(known)) if entered.line <= known => {
                (false, format!("{words}; it was approved without a note about it"))
            }
            (None, Some(_)) => (true, format!("{words}; entered after the approval")),
            (None, None) => (true, format!("{words}; to be noted before the approval")),
        };
        link(Kind::Seal, &what, holds, found);
    }
}

/// Whether the files that ended holds are there, byte for byte.
fn shown(link: Take<'_>, state: &State, folder: &Path) {
    let ended = state.holds().iter().filter_map(|hold| Some((hold, hold.ended.as_ref()?)));
    for (hold, ended) in ended {
        let Shown::File(file) = &ended.ending.evidence else { continue };
        let found = file.is_there(folder);
        let what = format!("evidence {}, hold {}", file.name, hold.name);
        let (holds, found) = match found {
            Ok(()) => (true, format!("sha256 {}", file.sha256)),
            Err(why) => (false, why),
        };
        link(Kind::Shown, &what, holds, found);
    }
}

/// Whether the hole before the record is closed, in a sentence.
fn hole_before(state: &State, hole: &HoleBefore) -> (bool, String) {
    let words = hole.in_words();
    if let Some(made) = state.hole_closed(hole) {
        return (true, format!("{words}; closed by {}: {}", made.mark.by, made.value));
    }
    let found = if state.signatures().iter().any(Signed::is_current) {
        "not closed when it was signed: the record before was added or changed since, or nobody \
         looked for it; reopen the review, close the hole and sign again"
    } else {
        "not closed"
    };
    (false, format!("{words}; {found}"))
}

/// What differs between what was reviewed and what is there now, in sentences; the program that
/// audited may be another as long as it finds the same.
pub(crate) fn differences(reviewed: &Subject, now: &Subject) -> Vec<String> {
    let mut links = Vec::new();
    let mut link = |_kind: Kind, what: &str, holds: bool, found: String| {
        if !holds {
            links.push(format!("{what}: {found}"));
        }
    };
    against_files(&mut link, reviewed, Ok(now));
    links
}

fn against_files(link: Take<'_>, reviewed: &Subject, fresh: Result<&Subject, String>) {
    let fresh = match fresh {
        Ok(fresh) => fresh,
        Err(why) => {
            link(Kind::File, "files", false, why);
            if reviewed.method != METHOD {
                link(Kind::Audit, AUDIT, false, of_other_method(reviewed));
            }
            return;
        }
    };
    let files = |subject: &'_ Subject| -> Vec<Source> { subject.files().cloned().collect() };
    let (then, now) = (files(reviewed), files(fresh));
    for source in &then {
        let what = format!("file {}", source.name);
        match now.iter().find(|now| now.name == source.name) {
            Some(now) if now == source => {
                link(Kind::File, &what, true, format!("sha256 {}", now.sha256));
            }
            Some(now) => link(
                Kind::File,
                &what,
                false,
                format!("sha256 was {}, is {}: it was changed", source.sha256, now.sha256),
            ),
            None => link(Kind::File, &what, false, "it is not there".to_owned()),
        }
    }
    for now in &now {
        if !then.iter().any(|source| source.name == now.name) {
            link(
                Kind::File,
                &format!("file {}", now.name),
                false,
                "it was not there at the review".to_owned(),
            );
        }
    }
    match (&reviewed.plant_file, &fresh.plant_file) {
        (Some(was), Some(now)) if was.sha256 == now.sha256 => {
            link(
                Kind::PlantFile,
                "plant file",
                true,
                format!("{}, sha256 {}", now.name, now.sha256),
            );
        }
        (None, None) => {
            link(Kind::PlantFile, "plant file", true, "none, the plant was assumed".to_owned());
        }
        (Some(was), Some(now)) => link(
            Kind::PlantFile,
            "plant file",
            false,
            format!("sha256 was {}, is {}: it was changed", was.sha256, now.sha256),
        ),
        (Some(was), None) => {
            link(Kind::PlantFile, "plant file", false, format!("{} is not there", was.name));
        }
        (None, Some(now)) => {
            link(Kind::PlantFile, "plant file", false, format!("{} was not used then", now.name));
        }
    }
    // What is to be resolved and closed follows from the audit; comparing it as well catches a journal
    // whose lists were made up.
    let (holds, found) = if is_same_by_a_newer_method(reviewed, fresh) {
        let Subject { method, program, audit, .. } = reviewed;
        let found = format!(
            "done by version {method} of the method ({program}), and again by version {}: the same \
             result, sha256 {audit}",
            fresh.method
        );
        (true, found)
    } else if reviewed.method != fresh.method {
        if !is_same_pasteurizer(reviewed, fresh) {
            link(Kind::File, "record", false, "the journal speaks of another record".to_owned());
        }
        (false, of_other_method(reviewed))
    } else if reviewed.audit != fresh.audit {
        let (was, now) = (&reviewed.program, &fresh.program);
        let differs = results_differ(reviewed, fresh);
        let digests = format!("{} ({was}), is {} ({now})", reviewed.audit, fresh.audit);
        (false, format!("{differs}its result was {digests}"))
    } else if !lists_agree(reviewed, fresh) {
        (false, "the journal speaks of another record, or lists other things to resolve".to_owned())
    } else {
        (true, format!("done again by {}: result sha256 {}", fresh.program, fresh.audit))
    };
    link(Kind::Audit, AUDIT, holds, found);
}

/// Whether a newer version of the method finds the same as the one that was reviewed, byte for byte.
fn is_same_by_a_newer_method(reviewed: &Subject, fresh: &Subject) -> bool {
    reviewed.method < fresh.method && reviewed.audit == fresh.audit && lists_agree(reviewed, fresh)
}

/// What there is to say of an audit that this program can't do again, since the method changed.
fn of_other_method(reviewed: &Subject) -> String {
    let Subject { method, program, audit, .. } = reviewed;
    let done = format!(
        "done by version {method} of the method ({program}), this program follows version {METHOD}: \
         the result with sha256 {audit} is that program's and can't be worked out again here"
    );
    if *method < METHOD {
        format!("{done}; enter the new audit (re-audit)")
    } else {
        format!("{done}; use that program or a newer one")
    }
}

/// Whether what no method changes agrees: it follows from the plant file alone.
fn is_same_pasteurizer(one: &Subject, other: &Subject) -> bool {
    one.plant == other.plant
        && one.unit == other.unit
        && one.same_person_may_approve == other.same_person_may_approve
        && one.technician_ends_holds == other.technician_ends_holds
        && one.release_after_approval == other.release_after_approval
        && one.corrective_action_in_parts == other.corrective_action_in_parts
}

/// Whether two subjects ask for the same to be resolved, closed, acknowledged and entered.
fn lists_agree(one: &Subject, other: &Subject) -> bool {
    is_same_pasteurizer(one, other)
        && one.start == other.start
        && one.end == other.end
        && one.exceptions == other.exceptions
        && one.to_close == other.to_close
        && one.observations == other.observations
        && one.entries == other.entries
        && one.shifts == other.shifts
}

/// Whether everybody who made a line was enrolled then and might make it, and whether its date can be
/// true. Most lines only name people; what releases product, returns or opens again is signed. Gives
/// whether there is a line that this program would not have written.
fn people(link: Take<'_>, evidence: &Evidence<'_>, state: &State, register: &Register) -> bool {
    let mut is_foreign = false;
    let accepted = accepted(evidence);
    let corrected = state.corrections().iter().map(|(mark, _)| mark.line).max().unwrap_or(0);
    for line in evidence.lines {
        let number = line.sequence();
        let what = format!("line {number}");
        let mut wrong = |found: String| link(Kind::Line, &what, false, found);
        let at = line.at();
        match line.by().parse::<SignerId>() {
            Ok(id) if register.signer(&id).is_none() => {
                wrong(format!("{id} is not in the register of signers"));
            }
            Ok(id) if !register.had(&id, at.instant()) => {
                let revoked = register.signer(&id).and_then(signers::Signer::revoked);
                let revoked = revoked.filter(|revoked| revoked.instant() < at.instant());
                let is_operator =
                    register.signer(&id).is_some_and(|one| one.role() == Role::Operator);
                wrong(match revoked {
                    Some(_) => format!("{id} was revoked before"),
                    None if is_operator => format!("{id} is an operator, who reviews nothing"),
                    None => format!("{id} was not enrolled yet"),
                });
            }
            Ok(_) => {}
            Err(_) => wrong(format!("{:?} is nobody in the register of signers", line.by())),
        }
        // A clock that ran ahead and was corrected below is told for ever, and forgiven.
        if at.instant().since(evidence.now) > CLOCK_TOLERANCE && number >= corrected {
            wrong(format!("it is dated {at}, later than it is now"));
        }
    }
    for number in state.early().iter().filter(|number| **number > accepted) {
        let what = format!("line {number}");
        let found = "it is dated before the record ends: nobody can have seen the whole of it";
        link(Kind::Line, &what, false, found.to_owned());
    }
    for Proof { mark, act, verdict } in state.proofs() {
        let what = format!("line {}", mark.line);
        match verdict {
            None if mark.line > accepted => {
                let found = format!("{} made it without a signature", mark.by);
                link(Kind::Unsigned, &what, false, found);
                // Before there was a ledger, no program asked for one.
                is_foreign |= evidence.books.known_ledger().is_some();
            }
            // Those of the record itself have links of their own.
            None => {}
            Some(_) if matches!(act, Act::Sign(_)) => {}
            Some(Verdict::Holds) => {
                link(Kind::Line, &what, true, format!("signed by {}, {}", mark.by, mark.at));
            }
            Some(verdict) => {
                link(Kind::SignedLine, &what, false, format!("signed by {}: {verdict}", mark.by));
            }
        }
    }
    for (mark, reason) in state.corrections() {
        let what = format!("line {}", mark.line);
        let found = format!("{} corrected the clock to {}: {reason}", mark.by, mark.at);
        link(Kind::Line, &what, true, found);
    }
    is_foreign
}
