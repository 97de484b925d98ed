//! `holdtrace review`: a whole round without the window.

use crate::arguments::{
    AcknowledgeArguments, CloseArguments, Common, CorrectClockArguments, DivertArguments,
    EndHoldArguments, EnterArguments, HoldOutcome, ListArguments, NoteSealArguments,
    PassphraseArguments, RecordArguments, ReopenArguments, ReviewCommand, SendBackArguments,
    SettleArguments, SignArguments, SignedMeaning, WithdrawArguments,
};
use crate::audit;
use crate::outcome::Outcome;
use crate::{folder, output, person};
use ::review::{
    Bundle, ClosingItem, Correction, Decision, Desk, DivertItem, Ending, EntriesSigned,
    ExceptionItem, HOLE_BEFORE, Holder, ItemKind, Kind, LaboratoryResult, Link, Meaning, Paths,
    SIGNATURE, Scope, Settlement, Shown, SignerId, Standing, State, Subject, Together, TubeOnDay,
    broken_seals, closing_ids, holds_product, limits_approved,
};
use case::{Case, DisplayUnits, sentence};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::error::Error;
use std::path::Path;
use trace::Lines;

/// What the signature under the operators' entries says, for the item that asks for one.
fn signature(desk: &Desk, entry: &str) -> Result<String, Box<dyn Error>> {
    match desk.entries_signed() {
        _ if entry != SIGNATURE => {
            Err(format!("give what is entered for {entry:?}: --value").into())
        }
        EntriesSigned::By(words) => Ok(words),
        EntriesSigned::Nobody => {
            Err("nobody has signed the operators' entries; --value says who signed on paper".into())
        }
        EntriesSigned::ChangedSince(words) => {
            Err(format!("the operators' entries were changed since: {words}").into())
        }
        EntriesSigned::Unknown(why) => {
            Err(format!("a signature under the operators' entries can't be checked: {why}").into())
        }
    }
}

/// Runs the command.
///
/// # Errors
/// When the record, the journal or the register can't be used, or a rule refuses.
pub fn run(command: ReviewCommand) -> Result<Outcome, Box<dyn Error>> {
    match command {
        ReviewCommand::List(arguments) => list(&arguments),
        ReviewCommand::Settle(arguments) => settle(&arguments),
        ReviewCommand::Close(arguments) => close(&arguments),
        ReviewCommand::Divert(DivertArguments { common, divert, reason, note }) => {
            decide(&common, |_| Ok(vec![Decision::DivertExplained { divert, reason, note }]))
        }
        ReviewCommand::Acknowledge(arguments) => acknowledge(&arguments),
        ReviewCommand::Enter(EnterArguments { common, entry, value, note }) => {
            decide(&common, |desk| {
                let value = match value {
                    Some(value) => value,
                    None => signature(desk, &entry)?,
                };
                Ok(vec![Decision::Entered { entry, value, note }])
            })
        }
        ReviewCommand::EndHold(arguments) => end_hold(&arguments),
        ReviewCommand::NoteSeal(NoteSealArguments { common, seal, reason }) => {
            decide(&common, |desk| {
                let known = broken_seals(desk.register(), desk.fresh());
                if known.iter().all(|one| one.sealed.seal != seal) {
                    let told: Vec<String> = known.iter().map(|one| one.in_words()).collect();
                    return Err(format!(
                        "no seal {seal:?} was broken while the record ran; the register has: {}",
                        if told.is_empty() { "none".to_owned() } else { told.join("; ") }
                    )
                    .into());
                }
                Ok(vec![Decision::SealNoted { seal, reason }])
            })
        }
        ReviewCommand::Withdraw(WithdrawArguments {
            common,
            exception,
            observation,
            divert,
            entry,
            hold,
            seal,
            passphrase,
        }) => decide_proved(&common, Some(&passphrase), |desk| {
            let is_closing = |id: &String| desk.state().to_close(id).is_some();
            let hole = desk.state().hole().map(|(hole, _)| hole.to.clone());
            let (of_observation, observation) = match observation {
                Some(id) if is_closing(&id) => (ItemKind::ClosedObservation, Some(id)),
                Some(id) if id == HOLE_BEFORE => (ItemKind::Hole, Some(hole.unwrap_or(id))),
                other => (ItemKind::Observation, other),
            };
            let items = [
                (ItemKind::Exception, exception),
                (of_observation, observation),
                (ItemKind::Divert, divert),
                (ItemKind::Entry, entry),
                (ItemKind::HoldEnd, hold),
                (ItemKind::Seal, seal),
            ];
            let taken = items.into_iter().filter_map(|(of, item)| Some((of, item?)));
            Ok(taken.map(|(of, item)| Decision::Withdrawn { of, item }).collect())
        }),
        ReviewCommand::SendBack(SendBackArguments { common, exception, remark, passphrase }) => {
            decide_proved(&common, Some(&passphrase), |_| {
                Ok(vec![Decision::SentBack { exception, remark }])
            })
        }
        ReviewCommand::Reopen(ReopenArguments { common, shift, reason, passphrase }) => {
            decide_proved(&common, Some(&passphrase), |_| {
                Ok(vec![Decision::Reopened { scope: scope(shift.as_deref()), reason }])
            })
        }
        ReviewCommand::CorrectClock(CorrectClockArguments { common, reason, passphrase }) => {
            decide_proved(&common, Some(&passphrase), |_| {
                Ok(vec![Decision::ClockCorrected { reason }])
            })
        }
        ReviewCommand::ReAudit(common) => re_audit(&common),
        ReviewCommand::Sign(arguments) => sign(&arguments),
    }
}

/// The record and its review, opened.
fn open(record: &RecordArguments, holder: &str) -> Result<(Case, Desk), Box<dyn Error>> {
    let first = record.files.first().map_or(Path::new("-"), |file| file.as_path());
    if record.files.iter().any(|file| file == Path::new("-")) {
        return Err("a review is kept beside its record: name the file instead of `-`".into());
    }
    let audited = audit::read(record)?;
    let subject = Subject::new(&audited)?;
    let plant = audited.plant().file.as_ref().map(|file| Path::new(&file.name));
    let (paths, trust) = (Paths::of(first, plant), person::trust());
    let (register, file, now) = (paths.register.clone(), plant.map(Path::to_owned), trust.now());
    let books = move || trust.books(&register, file.as_deref());
    let (desk, torn) = Desk::open(paths, books, subject, Holder(holder.to_owned()), now)?;
    let torn = torn.map(|torn| torn.to_string());
    for told in torn.iter().chain(&desk.books().torn).chain(&desk.books().alarms) {
        output::complain(told);
    }
    Ok((audited, desk))
}

/// The same, with what lies before the record in its folder.
fn open_in_folder(record: &RecordArguments, holder: &str) -> Result<(Case, Desk), Box<dyn Error>> {
    let (audited, mut desk) = open(record, holder)?;
    desk.comes_after(folder::hole_before(record, None)?, person::now());
    Ok((audited, desk))
}

/// Makes the decisions that `which` names, and says each when it is on the disk.
fn decide(
    common: &Common,
    which: impl FnOnce(&Desk) -> Result<Vec<Decision>, Box<dyn Error>>,
) -> Result<Outcome, Box<dyn Error>> {
    decide_proved(common, None, which)
}

/// The same; what must be proved is signed with the person's key, whose passphrase is asked for once.
fn decide_proved(
    common: &Common,
    passphrase: Option<&PassphraseArguments>,
    which: impl FnOnce(&Desk) -> Result<Vec<Decision>, Box<dyn Error>>,
) -> Result<Outcome, Box<dyn Error>> {
    let by: SignerId = common.by.parse()?;
    let (audited, mut desk) = open(&common.record, &common.by)?;
    let decisions = which(&desk)?;
    let needs_key = decisions.iter().any(|decision| desk.state().act(decision).is_some());
    let key = match passphrase.filter(|_| needs_key) {
        Some(arguments) => Some(person::unlock(&by, arguments)?),
        None => None,
    };
    let at = person::stamp(audited.plant().zone, common)?;
    match &key {
        Some(key) => desk.decide_all_signed(key, at, &decisions)?,
        None => desk.decide_all(&by, at, &decisions)?,
    }
    let last = desk.lines().len();
    for line in last + 1 - decisions.len()..=last {
        output::say_line(format_args!("line {line}: entered"))?;
    }
    Ok(Outcome::Clean)
}

fn settle(arguments: &SettleArguments) -> Result<Outcome, Box<dyn Error>> {
    decide_proved(&arguments.common, Some(&arguments.passphrase), |desk| {
        let state = desk.state();
        let bundle = arguments.episode.map(Bundle::Episode);
        // One command puts on hold what it names under one tag.
        let tag = match &arguments.hold_tag {
            Some(tag) => tag.clone(),
            None if holds_product(&arguments.disposition) => desk.next_hold_tag(),
            None => String::new(),
        };
        if let Some(of) = bundle.or(arguments.cleaning.map(Bundle::Cleaning)) {
            let together = Together { hold_tag: tag, ..together(arguments, state, of)? };
            return Ok(vec![Decision::SettledTogether(together)]);
        }
        let chosen: Vec<_> = state
            .subject()
            .exceptions
            .iter()
            .filter(|item| {
                arguments.exception.as_ref() == Some(&item.id)
                    || arguments.all_open && !state.is_settled(&item.id)
            })
            .collect();
        if chosen.is_empty() && !arguments.all_open {
            return Err("the record has no such exception".into());
        }
        let settled = chosen.into_iter().map(|item| {
            Decision::Settled(Settlement {
                cause: arguments.cause.clone(),
                action: arguments.action.clone(),
                correction: correction(arguments),
                disposition: arguments.disposition.clone(),
                disposition_reason: arguments.reason.clone(),
                quantity: arguments
                    .quantity
                    .clone()
                    .unwrap_or_else(|| item.quantity.clone().unwrap_or_default()),
                lot: arguments.lot.clone().unwrap_or_else(|| item.lots.join(", ")),
                hold_tag: tag.clone(),
                tank: match &arguments.tank {
                    Some(tank) => tank.clone(),
                    None if tag.is_empty() => String::new(),
                    None => item.tanks.join(", "),
                },
                note: arguments.note.clone(),
                exception: item.id.clone(),
            })
        });
        Ok(settled.collect())
    })
}

/// The further parts of the corrective action, as far as they were given.
fn correction(arguments: &SettleArguments) -> Option<Correction> {
    let SettleArguments { under_control, recurrence, product_safe, .. } = arguments;
    let given = [under_control, recurrence, product_safe];
    given.iter().any(|text| text.is_some()).then(|| Correction {
        under_control: under_control.clone().unwrap_or_default(),
        recurrence: recurrence.clone().unwrap_or_default(),
        product: product_safe.clone().unwrap_or_default(),
    })
}

/// The one line that resolves a bundle.
fn together(
    arguments: &SettleArguments,
    state: &State,
    of: Bundle,
) -> Result<Together, Box<dyn Error>> {
    let exceptions: Vec<_> = state.bundle(of).iter().map(|item| item.id.clone()).collect();
    if exceptions.is_empty() {
        return Err(format!("the record has no {of} with exceptions").into());
    }
    Ok(Together {
        of,
        exceptions,
        cause: arguments.cause.clone(),
        action: arguments.action.clone(),
        correction: correction(arguments),
        disposition: arguments.disposition.clone(),
        disposition_reason: arguments.reason.clone(),
        quantity: arguments.quantity.clone().unwrap_or_default(),
        lot: arguments.lot.clone().unwrap_or_default(),
        hold_tag: String::new(),
        tank: arguments.tank.clone().unwrap_or_default(),
        note: arguments.note.clone(),
    })
}

fn end_hold(arguments: &EndHoldArguments) -> Result<Outcome, Box<dyn Error>> {
    let EndHoldArguments { common, hold, outcome, reason, file, laboratory, passphrase } =
        arguments;
    decide_proved(common, Some(passphrase), |desk| {
        let evidence = match file {
            Some(file) => Shown::File(desk.evidence(file)?),
            None => Shown::Laboratory(LaboratoryResult {
                test: laboratory.lab_test.clone().unwrap_or_default(),
                method: laboratory.lab_method.clone(),
                value: laboratory.lab_value.clone(),
                limit: laboratory.lab_limit.clone(),
                unit: laboratory.lab_unit.clone(),
                laboratory: laboratory.laboratory.clone(),
                date: laboratory.lab_date.clone(),
            }),
        };
        let (hold, outcome, reason) = (hold.clone(), (*outcome).into(), reason.clone());
        let decision = Decision::HoldEnded(Ending { hold, outcome, reason, evidence });
        // What is missing is told before anybody types a passphrase.
        desk.state().allows(&decision, &common.by)?;
        Ok(vec![decision])
    })
}

impl From<HoldOutcome> for ::review::Outcome {
    fn from(outcome: HoldOutcome) -> Self {
        match outcome {
            HoldOutcome::Released => Self::Released,
            HoldOutcome::RePasteurized => Self::RePasteurized,
            HoldOutcome::DivertedToOtherUse => Self::DivertedToOtherUse,
            HoldOutcome::Destroyed => Self::Destroyed,
        }
    }
}

fn close(arguments: &CloseArguments) -> Result<Outcome, Box<dyn Error>> {
    if arguments.observation == HOLE_BEFORE {
        return close_hole(arguments);
    }
    decide(&arguments.common, |desk| {
        let CloseArguments { observation, reason, note, .. } = arguments;
        let subject = desk.state().subject();
        let ids = ids_of_kind(subject, observation);
        if !ids.is_empty() {
            return Err(format!(
                "name one observation {observation} by its identifier: {}",
                ids.join(", ")
            )
            .into());
        }
        if subject.observations.iter().any(|one| one.kind == *observation) {
            return Err(format!(
                "{observation} is only to be noted, by kind: holdtrace review acknowledge {} --by {} \
                 --observation {observation}",
                record(&arguments.common),
                arguments.common.by
            )
            .into());
        }
        let (observation, reason, note) = (observation.clone(), reason.clone(), note.clone());
        Ok(vec![Decision::Closed { observation, reason, note }])
    })
}

fn close_hole(arguments: &CloseArguments) -> Result<Outcome, Box<dyn Error>> {
    let CloseArguments { common, folder, reason, note, .. } = arguments;
    let Some(hole) = folder::hole_before(&common.record, folder.as_deref())? else {
        return Err(
            "in this folder there is no hole before the record that is to be closed; name the folder of the day log that reported it with --folder"
                .into(),
        );
    };
    let (reason, note) = (reason.clone(), note.clone());
    decide(common, |_| Ok(vec![Decision::HoleClosed { hole, reason, note }]))
}

/// The identifiers of the observations of a kind that are to be closed.
fn ids_of_kind<'a>(subject: &'a Subject, kind: &str) -> Vec<&'a str> {
    let of_kind = subject.to_close.iter().filter(|one| one.kind == kind);
    of_kind.map(|one| one.id.as_str()).collect()
}

/// The record's first file, as it was named.
fn record(common: &Common) -> String {
    common.record.files.first().map_or_else(String::new, |file| file.display().to_string())
}

fn acknowledge(arguments: &AcknowledgeArguments) -> Result<Outcome, Box<dyn Error>> {
    decide(&arguments.common, |desk| {
        let state = desk.state();
        let subject = state.subject();
        let kinds: Vec<String> = match &arguments.observation {
            Some(kind) => {
                let ids = ids_of_kind(subject, kind);
                if let Some(id) = ids.first() {
                    return Err(format!(
                        "{kind} is not acknowledged but closed, one by one, each with a reason: \
                         holdtrace review close {} --by {} --observation {id} --reason TEXT \
                         (identifiers: {})",
                        record(&arguments.common),
                        arguments.common.by,
                        ids.join(", ")
                    )
                    .into());
                }
                vec![kind.clone()]
            }
            None => subject
                .observations
                .iter()
                .filter(|item| state.acknowledged(&item.kind).is_none())
                .map(|item| item.kind.clone())
                .collect(),
        };
        let note = &arguments.note;
        let made = kinds.into_iter();
        Ok(made
            .map(|observation| Decision::Acknowledged { observation, note: note.clone() })
            .collect())
    })
}

fn re_audit(common: &Common) -> Result<Outcome, Box<dyn Error>> {
    let by: SignerId = common.by.parse()?;
    let (audited, mut desk) = open(&common.record, &common.by)?;
    for change in desk.changes() {
        output::say_line(format_args!("{change}"))?;
    }
    desk.re_audit(&by, person::stamp(audited.plant().zone, common)?)?;
    output::say_line(format_args!("line {}: entered", desk.lines().len()))?;
    Ok(Outcome::Clean)
}

fn sign(arguments: &SignArguments) -> Result<Outcome, Box<dyn Error>> {
    let SignArguments { common, meaning, shift, passphrase } = arguments;
    let by: SignerId = common.by.parse()?;
    let (audited, mut desk) = open_in_folder(&common.record, &common.by)?;
    let (meaning, scope) = ((*meaning).into(), scope(shift.as_deref()));
    // What is left to do is told before anybody types a passphrase.
    desk.can_be_signed(meaning, &scope, &by)?;
    let key = person::unlock(&by, passphrase)?;
    desk.sign(&key, person::stamp(audited.plant().zone, common)?, meaning, &scope)?;
    let line = desk.lines().len();
    output::say_line(format_args!("line {line}: {scope} is signed as {meaning} by {by}"))?;
    output::say_line(format_args!("last line sha256 {}", desk.head()))?;
    Ok(Outcome::Clean)
}

fn scope(shift: Option<&str>) -> Scope {
    shift.map_or(Scope::DAY, Scope::shift)
}

impl From<SignedMeaning> for Meaning {
    fn from(meaning: SignedMeaning) -> Self {
        match meaning {
            SignedMeaning::Reviewed => Self::Reviewed,
            SignedMeaning::Approved => Self::Approved,
        }
    }
}

fn list(arguments: &ListArguments) -> Result<Outcome, Box<dyn Error>> {
    let (audited, desk) = open_in_folder(&arguments.record, "holdtrace review list")?;
    // An observation of the audit as it is now, in a sentence; the journal has only identifiers.
    let ids = closing_ids(audited.audit()).into_iter().zip(&audited.audit().observations);
    let sentences = ids.filter_map(|(id, observation)| {
        Some((id?, sentence(observation, audited.plant().zone, DisplayUnits::RECORDED)))
    });
    let sentences: BTreeMap<String, String> = sentences.collect();
    let failing = failing(&desk);
    if arguments.json {
        let mut document = as_json(&desk, &sentences);
        document["failing"] = json!(failing);
        output::write(output::json(&document)?.as_bytes(), None)?;
    } else {
        let mut text = Lines::new();
        for link in &failing {
            text.line(format_args!("FAILS  {link}"));
        }
        text.append(&as_text(&desk, &sentences));
        output::say(&text)?;
    }
    let is_done = failing.is_empty()
        && desk.changes().is_empty()
        && desk.state().progress().is_complete()
        && desk.open_hole().is_none();
    Ok(if is_done { Outcome::Clean } else { Outcome::Exceptions })
}

/// What does not hold of the review, in sentences; that it is not finished is none of that.
fn failing(desk: &Desk) -> Vec<String> {
    // What differs from the files is told as changed, and the hole is listed as open work.
    let told = [Kind::SignOff, Kind::File, Kind::PlantFile, Kind::Audit, Kind::Hole];
    let is_begun = !desk.lines().is_empty();
    let links = desk.verification().links.iter().filter(|link| !link.holds);
    let links = links.filter(|link| !told.contains(&link.kind));
    let links = links.filter(|link| is_begun || link.kind != Kind::Chain);
    links.map(Link::in_words).collect()
}

fn as_text(desk: &Desk, sentences: &BTreeMap<String, String>) -> Lines {
    let mut text = Lines::new();
    let state = desk.state();
    let subject = state.subject();
    for change in desk.changes() {
        text.line(format_args!("CHANGED since the review: {change}"));
    }
    text.line(format_args!("the review is: {}", desk.stage().name()));
    // Once it is begun, verification says so above.
    if desk.lines().is_empty()
        && !desk.register().is_empty()
        && let Some((false, found)) = limits_approved(desk.register(), desk.fresh(), person::now())
    {
        text.line(format_args!("the limits are {found}"));
    }
    let progress = state.progress();
    for (what, (done, all)) in [
        ("exceptions resolved", progress.exceptions),
        ("observations closed", progress.closed),
        ("types of observations acknowledged", progress.observations),
        ("required entries made", progress.entries),
    ] {
        text.line(format_args!("{done} of {all} {what}"));
    }
    text.end();
    exceptions(&mut text, state);
    if let Some(hole) = desk.hole() {
        let standing = state.hole_closed(hole).map_or_else(
            || "open".to_owned(),
            |made| format!("closed by {}: {}", made.mark.by, made.value),
        );
        text.line(format_args!("close  {HOLE_BEFORE}  {standing}"));
        text.line(format_args!("       {}", hole.in_words()));
    }
    for item in &subject.to_close {
        let ClosingItem { id, kind, start, count, .. } = item;
        let standing = state.closed(id).map_or_else(
            || "open".to_owned(),
            |made| format!("closed by {}: {}", made.mark.by, made.value),
        );
        let when = start.as_ref().map_or_else(String::new, |start| format!("{start} "));
        text.line(format_args!("close  {id}  {when}{kind} ({count})  {standing}"));
        if let Some(sentence) = sentences.get(id) {
            text.line(format_args!("       {sentence}"));
        }
    }
    for DivertItem { id, start, cause, .. } in &subject.diverts {
        let reason = state.explained(id).map_or_else(String::new, |made| {
            format!("  reason by {}: {}", made.mark.by, made.value)
        });
        text.line(format_args!("divert  {id}  {start} {cause}{reason}"));
    }
    for item in &subject.observations {
        let standing = state
            .acknowledged(&item.kind)
            .map_or_else(|| "open".to_owned(), |made| format!("acknowledged by {}", made.mark.by));
        let note = state.acknowledged(&item.kind).map_or("", |made| made.note.trim());
        let colon = if note.is_empty() { "" } else { ": " };
        text.line(format_args!("note  {} ({})  {standing}{colon}{note}", item.kind, item.count));
    }
    for item in &subject.entries {
        let standing = state.entered(item).map_or_else(
            || "open".to_owned(),
            |made| format!("{} (by {})", made.value, made.mark.by),
        );
        text.line(format_args!("entry  {item}  {standing}"));
    }
    for seal in broken_seals(desk.register(), desk.fresh()) {
        let standing = match state.seal_noted(&seal.sealed.seal) {
            Some(made) => format!("noted by {}: {}", made.mark.by, made.value),
            None => "open".to_owned(),
        };
        text.line(format_args!("seal  {}  {standing}", seal.in_words()));
    }
    let tube = desk.fresh().tube_on_day(desk.register());
    if let Some(tube) = tube.filter(TubeOnDay::is_wanting) {
        let is_open = tube.before_approval().is_some();
        let standing = if is_open { "before the approval" } else { "to be known" };
        text.line(format_args!("{}  {standing}", tube.words.replacen(": ", "  ", 1)));
    }
    for hold in state.holds() {
        let standing = match &hold.ended {
            Some(ended) if !hold.is_open() => format!(
                "{} by {}, {}: {}; {}",
                ended.ending.outcome,
                ended.mark.by,
                ended.mark.at,
                ended.ending.reason,
                ended.ending.evidence.in_words()
            ),
            _ => format!("on hold since {} by {}", hold.since.at, hold.since.by),
        };
        text.line(format_args!("hold  {}  {}  {standing}", hold.name, hold.what()));
    }
    for signed in state.signatures() {
        let method = if signed.method == subject.method && !subject.is_of_older_method() {
            String::new()
        } else {
            format!(", on an audit by version {} of the method", signed.method)
        };
        let standing = signed
            .superseded_by
            .map_or_else(String::new, |line| format!(", superseded by line {line}"));
        text.line(format_args!(
            "signature  {}, {}, {} ({}), {}{method}{standing}",
            signed.meaning, signed.scope, signed.name, signed.role, signed.mark.at
        ));
    }
    text
}

/// The exceptions by episode, then those of cleanings, each cleaning in one line where nothing was
/// decided about one of its exceptions alone.
fn exceptions(text: &mut Lines, state: &State) {
    let mut episodes: BTreeMap<usize, Vec<&ExceptionItem>> = BTreeMap::new();
    let mut cleanings: BTreeMap<usize, Vec<&ExceptionItem>> = BTreeMap::new();
    for item in &state.subject().exceptions {
        match item.cleaning {
            Some(number) => cleanings.entry(number).or_default().push(item),
            None => episodes.entry(item.episode).or_default().push(item),
        }
    }
    for (number, items) in &episodes {
        text.line(format_args!("episode {number}"));
        for item in items {
            one(text, state, item);
        }
    }
    for (number, items) in &cleanings {
        let standings: Vec<String> = items.iter().map(|item| standing(state, &item.id)).collect();
        match standings.first() {
            Some(first) if standings.iter().all(|one| one == first) => text.line(format_args!(
                "cleaning {number}, outside production ({} exceptions)  {first}",
                items.len()
            )),
            _ => {
                text.line(format_args!("cleaning {number}, outside production"));
                for item in items {
                    one(text, state, item);
                }
            }
        }
    }
}

fn one(text: &mut Lines, state: &State, item: &ExceptionItem) {
    let ExceptionItem { id, start, rule, causes, .. } = item;
    let causes =
        if causes.is_empty() { String::new() } else { format!(" ({})", causes.join(", ")) };
    text.line(format_args!("  {id}  {start} {rule}{causes}  {}", standing(state, id)));
}

fn standing(state: &State, id: &str) -> String {
    let standing = state.exception(id);
    let name = standing.name();
    match standing {
        Standing::Open => name.to_owned(),
        Standing::SentBack { remark, mark, .. } => format!("{name} by {}: {remark}", mark.by),
        Standing::Settled { settlement, mark } => format!(
            "{name} by {}: {}; {}; {}",
            mark.by,
            settlement.cause,
            settlement.action,
            settlement.disposition_in_words()
        ),
    }
}

fn as_json(desk: &Desk, sentences: &BTreeMap<String, String>) -> Value {
    let mut value = desk.state().to_json();
    if let Some(items) = value["to_close"].as_array_mut() {
        for one in items {
            let sentence = one["item"]["id"].as_str().and_then(|id| sentences.get(id));
            one["sentence"] = json!(sentence);
        }
    }
    value["hole_to_close"] = json!(desk.hole());
    value["hole_is_open"] = json!(desk.open_hole().is_some());
    value["stage"] = json!(desk.stage().key());
    value["changes"] = json!(desk.changes());
    value["lines"] = json!(desk.lines().len());
    value["head"] = json!(desk.head().to_string());
    value
}
