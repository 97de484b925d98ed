//! `holdtrace review`: a whole round without the window.

use crate::arguments::{
    AcknowledgeArguments, Common, EnterArguments, ListArguments, RecordArguments, ReopenArguments,
    ReviewCommand, SendBackArguments, SettleArguments, SignArguments, SignedMeaning,
    WithdrawArguments,
};
use crate::audit;
use crate::{Outcome, output, person};
use ::review::{
    Decision, Desk, Holder, ItemKind, Meaning, Paths, Scope, Settlement, SignerId, Standing,
    Subject,
};
use archive::Read;
use serde_json::{Value, json};
use std::error::Error;
use std::fmt::Write as _;
use std::path::Path;

/// Runs the command.
///
/// # Errors
/// When the record, the journal or the register can't be used, or a rule refuses.
pub fn run(command: ReviewCommand) -> Result<Outcome, Box<dyn Error>> {
    match command {
        ReviewCommand::List(arguments) => list(&arguments),
        ReviewCommand::Settle(arguments) => settle(&arguments),
        ReviewCommand::Acknowledge(arguments) => acknowledge(&arguments),
        ReviewCommand::Enter(EnterArguments { common, entry, value, note }) => {
            decide(&common, |_| Ok(vec![Decision::Entered { entry, value, note }]))
        }
        ReviewCommand::Withdraw(WithdrawArguments { common, exception, observation, entry }) => {
            decide(&common, |_| {
                let items = [
                    (ItemKind::Exception, exception),
                    (ItemKind::Observation, observation),
                    (ItemKind::Entry, entry),
                ];
                let taken = items.into_iter().filter_map(|(of, item)| Some((of, item?)));
                Ok(taken.map(|(of, item)| Decision::Withdrawn { of, item }).collect())
            })
        }
        ReviewCommand::SendBack(SendBackArguments { common, exception, remark }) => {
            decide(&common, |_| Ok(vec![Decision::SentBack { exception, remark }]))
        }
        ReviewCommand::Reopen(ReopenArguments { common, shift, reason }) => decide(&common, |_| {
            Ok(vec![Decision::Reopened { scope: scope(shift.as_deref()), reason }])
        }),
        ReviewCommand::ReAudit(common) => re_audit(&common),
        ReviewCommand::Sign(arguments) => sign(&arguments),
    }
}

/// The record and its review, opened.
fn open(record: &RecordArguments, holder: &str) -> Result<(Read, Desk), Box<dyn Error>> {
    let first = record.files.first().map_or(Path::new("-"), |file| file.as_path());
    if record.files.iter().any(|file| file == Path::new("-")) {
        return Err("a review lies beside its record: name the file instead of `-`".into());
    }
    let audited = audit::read(record)?;
    let subject = Subject::new(&audited.record, &audited.plant, &audited.audit)?;
    let plant = audited.plant.file.as_ref().map(|file| Path::new(&file.name));
    let (desk, aside) = Desk::open(Paths::of(first, plant), subject, Holder(holder.to_owned()))?;
    for path in aside {
        output::complain(&format!(
            "a torn last line, a write that was cut short, was set aside as {}",
            path.display()
        ));
    }
    Ok((audited, desk))
}

/// Makes the decisions that `which` names, and says each when it is on the disk.
fn decide(
    common: &Common,
    which: impl FnOnce(&Desk) -> Result<Vec<Decision>, Box<dyn Error>>,
) -> Result<Outcome, Box<dyn Error>> {
    let by: SignerId = common.by.parse()?;
    let (audited, mut desk) = open(&common.record, &common.by)?;
    for decision in which(&desk)? {
        desk.decide(&by, person::stamp(audited.plant.zone)?, &decision)?;
        output::say(&format!("line {}: entered\n", desk.lines().len()))?;
    }
    Ok(Outcome::Clean)
}

fn settle(arguments: &SettleArguments) -> Result<Outcome, Box<dyn Error>> {
    decide(&arguments.common, |desk| {
        let state = desk.state();
        let is_open = |id: &str| !matches!(state.exception(id), Standing::Settled { .. });
        let chosen: Vec<_> = state
            .subject()
            .exceptions
            .iter()
            .filter(|item| {
                arguments.exception.as_ref() == Some(&item.id)
                    || arguments.episode == Some(item.episode)
                    || arguments.all_open && is_open(&item.id)
            })
            .collect();
        if chosen.is_empty() && !arguments.all_open {
            return Err("the record has no such exception".into());
        }
        let settled = chosen.into_iter().map(|item| {
            Decision::Settled(Settlement {
                cause: arguments.cause.clone(),
                action: arguments.action.clone(),
                disposition: arguments.disposition.clone(),
                disposition_reason: arguments.reason.clone(),
                quantity: arguments
                    .quantity
                    .clone()
                    .unwrap_or_else(|| item.quantity.clone().unwrap_or_default()),
                lot: arguments.lot.clone().unwrap_or_else(|| item.lots.join(", ")),
                note: arguments.note.clone(),
                exception: item.id.clone(),
            })
        });
        Ok(settled.collect())
    })
}

fn acknowledge(arguments: &AcknowledgeArguments) -> Result<Outcome, Box<dyn Error>> {
    decide(&arguments.common, |desk| {
        let state = desk.state();
        let kinds: Vec<String> = match &arguments.observation {
            Some(kind) => vec![kind.clone()],
            None => state
                .subject()
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
        output::say(&format!("{change}\n"))?;
    }
    desk.re_audit(&by, person::stamp(audited.plant.zone)?)?;
    output::say(&format!("line {}: entered\n", desk.lines().len()))?;
    Ok(Outcome::Clean)
}

fn sign(arguments: &SignArguments) -> Result<Outcome, Box<dyn Error>> {
    let SignArguments { common, meaning, shift, passphrase } = arguments;
    let by: SignerId = common.by.parse()?;
    let (audited, mut desk) = open(&common.record, &common.by)?;
    let (meaning, scope) = ((*meaning).into(), scope(shift.as_deref()));
    // What is left to do is told before anybody types a passphrase.
    match meaning {
        Meaning::Reviewed => desk.state().can_be_reviewed(&scope)?,
        Meaning::Approved => desk.state().can_be_approved(&scope, by.as_str())?,
    }
    let key = person::unlock(&by, passphrase)?;
    desk.sign(&key, person::stamp(audited.plant.zone)?, meaning, &scope)?;
    output::say(&format!(
        "line {}: {scope} is signed as {meaning} by {by}\nlast line sha256 {}\n",
        desk.lines().len(),
        desk.head()
    ))?;
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
    let (_, desk) = open(&arguments.record, "holdtrace review list")?;
    let text = if arguments.json {
        format!("{}\n", serde_json::to_string_pretty(&as_json(&desk))?)
    } else {
        as_text(&desk)?
    };
    output::say(&text)?;
    let is_done = desk.changes().is_empty() && desk.state().progress().is_complete();
    Ok(if is_done { Outcome::Clean } else { Outcome::Exceptions })
}

fn as_text(desk: &Desk) -> Result<String, std::fmt::Error> {
    let mut text = String::new();
    let state = desk.state();
    let subject = state.subject();
    for change in desk.changes() {
        writeln!(text, "CHANGED since the review: {change}")?;
    }
    let progress = state.progress();
    for (what, (done, all)) in [
        ("exceptions settled", progress.exceptions),
        ("kinds of observations acknowledged", progress.observations),
        ("entries made", progress.entries),
    ] {
        writeln!(text, "{done} of {all} {what}")?;
    }
    writeln!(text)?;
    for item in &subject.exceptions {
        let standing = match state.exception(&item.id) {
            Standing::Open => "open".to_owned(),
            Standing::SentBack { remark, mark, .. } => {
                format!("sent back by {}: {remark}", mark.by)
            }
            Standing::Settled { settlement, mark } => format!(
                "settled by {}: {}; {}; {}",
                mark.by,
                settlement.cause,
                settlement.action,
                settlement.disposition_in_words()
            ),
        };
        writeln!(text, "{}  {} {}  {standing}", item.id, item.start, item.rule)?;
    }
    for item in &subject.observations {
        let standing = state
            .acknowledged(&item.kind)
            .map_or_else(|| "open".to_owned(), |made| format!("acknowledged by {}", made.mark.by));
        writeln!(text, "observation  {} ({})  {standing}", item.kind, item.count)?;
    }
    for item in &subject.entries {
        let standing = state.entered(item).map_or_else(
            || "open".to_owned(),
            |made| format!("{} (by {})", made.value, made.mark.by),
        );
        writeln!(text, "entry  {item}  {standing}")?;
    }
    for signed in state.signatures() {
        let standing = signed
            .superseded_by
            .map_or_else(String::new, |line| format!(", superseded by line {line}"));
        writeln!(
            text,
            "signature  {}, {}, {} ({}), {}{standing}",
            signed.meaning, signed.scope, signed.name, signed.role, signed.mark.at
        )?;
    }
    Ok(text)
}

fn as_json(desk: &Desk) -> Value {
    let mut value = desk.state().to_json();
    value["changes"] = json!(desk.changes());
    value["lines"] = json!(desk.lines().len());
    value["head"] = json!(desk.head().to_string());
    value
}
