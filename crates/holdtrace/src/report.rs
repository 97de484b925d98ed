//! `holdtrace report`: one record with what was decided about it, for filing, for a spreadsheet or
//! for a program.

use crate::arguments::{ReportArguments, ReportFormat, ReportPaper};
use crate::{Outcome, audit, output, person};
use ::review::{Paths, Standing, State, Subject, Verification, verify as verify_links};
use archive::Read;
use journal::Reading;
use paper::{Decided, Paper, Summary};
use report::MoreColumns;
use serde_json::{Value, json};
use std::error::Error;
use std::path::Path;

/// Runs the command.
///
/// # Errors
/// When the input can't be used or the output not be written.
pub fn run(arguments: &ReportArguments) -> Result<Outcome, Box<dyn Error>> {
    let audited = audit::read(&arguments.record)?;
    let reviewed = Reviewed::read(arguments, &audited)?;
    let report = audited.report();
    let bytes = match arguments.format {
        ReportFormat::Pdf => {
            let decided = reviewed.decided();
            let template = arguments.template.as_deref().map(read_template).transpose()?;
            paper::summary(&Summary {
                report,
                decided: &decided,
                paper: match arguments.paper {
                    ReportPaper::A4 => Paper::A4,
                    ReportPaper::Letter => Paper::Letter,
                },
                created: person::now(),
                template: template.as_deref(),
            })?
        }
        ReportFormat::Csv => report.csv_with(&reviewed.columns())?.into_bytes(),
        ReportFormat::Json => {
            let audit: Value = serde_json::from_str(&report.json()?)?;
            let document = json!({
                "schema": 1,
                "audit": audit,
                "review": reviewed.state.as_ref().map(State::to_json),
                "verification": reviewed.verification_json(),
            });
            format!("{}\n", serde_json::to_string_pretty(&document)?).into_bytes()
        }
    };
    output::write(&bytes, arguments.output.as_deref())?;
    Ok(Outcome::Clean)
}

fn read_template(path: &Path) -> Result<String, Box<dyn Error>> {
    let read = std::fs::read_to_string(path);
    Ok(read.map_err(|cause| format!("{}: can't be read ({cause})", path.display()))?)
}

/// What was decided about a record, and whether it can be relied on.
struct Reviewed {
    name: String,
    state: Option<State>,
    verification: Verification,
}

impl Reviewed {
    fn read(arguments: &ReportArguments, audited: &Read) -> Result<Self, Box<dyn Error>> {
        let first = arguments.record.files.first().map_or(Path::new("-"), |file| file.as_path());
        let plant = audited.plant.file.as_ref().map(|file| Path::new(&file.name));
        let paths = Paths::of(first, plant);
        let reading: Reading = journal::read(&paths.journal)?;
        let register = archive::read_register(&paths.register);
        let fresh = Subject::new(&audited.record, &audited.plant, &audited.audit)?;
        let register = register.as_ref().map_err(Clone::clone);
        Ok(Self {
            name: first.file_stem().unwrap_or_default().to_string_lossy().into_owned(),
            state: State::replay_as_far(&reading.lines).0,
            verification: verify_links(&reading, register, Ok(&fresh)),
        })
    }

    fn decided(&self) -> Decided {
        match &self.state {
            Some(state) => Decided {
                record: Some(self.name.clone()),
                ..Decided::of(state, &self.verification)
            },
            None => Decided { record: Some(self.name.clone()), ..Decided::default() },
        }
    }

    fn columns(&self) -> MoreColumns {
        let names = [
            "standing",
            "decided_cause",
            "action",
            "disposition",
            "disposition_reason",
            "decided_quantity",
            "decided_lot",
            "note",
            "decided_by",
            "decided_at",
        ];
        let mut columns = MoreColumns { names: names.to_vec(), ..MoreColumns::default() };
        let Some(state) = &self.state else { return columns };
        for item in &state.subject().exceptions {
            let (standing, settlement, mark) = match state.exception(&item.id) {
                Standing::Open => ("open", None, None),
                Standing::SentBack { before, mark, .. } => {
                    ("sent_back", before.as_ref(), Some(mark))
                }
                Standing::Settled { settlement, mark } => ("settled", Some(settlement), Some(mark)),
            };
            let text = |of: fn(&::review::Settlement) -> &String| {
                settlement.map(of).cloned().unwrap_or_default()
            };
            let texts = vec![
                standing.to_owned(),
                text(|one| &one.cause),
                text(|one| &one.action),
                text(|one| &one.disposition),
                text(|one| &one.disposition_reason),
                text(|one| &one.quantity),
                text(|one| &one.lot),
                text(|one| &one.note),
                mark.map(|mark| mark.by.clone()).unwrap_or_default(),
                mark.map(|mark| mark.at.to_string()).unwrap_or_default(),
            ];
            columns.of.insert(item.id.clone(), texts);
        }
        columns
    }

    fn verification_json(&self) -> Value {
        let Verification { links, head, lines } = &self.verification;
        let links: Vec<Value> = links
            .iter()
            .map(|link| json!({"what": link.what, "holds": link.holds, "found": link.found}))
            .collect();
        json!({"holds": self.verification.holds(), "links": links, "lines": lines, "head": head.to_string()})
    }
}
