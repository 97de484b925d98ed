//! `holdtrace report`: one record with what was decided about it, for filing, for a spreadsheet or
//! for a program.

use crate::arguments::{ReportArguments, ReportFormat, ReportPaper, Rows};
use crate::outcome::Outcome;
use crate::{audit, folder, output, person};
use ::review::{Paths, SIGN_OFF, Subject};
use paper::{Filing, Paper, Template};
use std::error::Error;
use std::path::Path;

/// The most bytes that are read of a template (ours): fifty times the one that comes with the program.
const LARGEST_TEMPLATE: u64 = 1 << 20;

/// Runs the command.
///
/// # Errors
/// When the input can't be used or the output not be written.
pub fn run(arguments: &ReportArguments) -> Result<Outcome, Box<dyn Error>> {
    let audited = audit::read(&arguments.record)?;
    let first = arguments.record.files.first().map_or(Path::new("-"), |file| file.as_path());
    let plant = audited.plant().file.as_ref().map(|file| Path::new(&file.name));
    let fresh = Subject::new(&audited)?;
    // Standard input lies in no folder.
    let is_in_a_folder = first != Path::new("-");
    let (mut neighbours, files) = (folder::neighbours(), folder::files(&arguments.record));
    let hole = if is_in_a_folder { neighbours.hole_before(&files, None)? } else { None };
    let named = arguments.folder.as_deref();
    let is_looked_at = is_in_a_folder || named.is_some();
    let others = is_looked_at.then(|| neighbours.tank_sheets(&files, named)).transpose()?;
    let reviewed = archive::read_review(
        (&Paths::of(first, plant), plant),
        &fresh,
        hole.as_ref(),
        &person::trust(),
    )?;
    let record = first.file_stem().unwrap_or_default().to_string_lossy();
    let filing =
        Filing { case: &audited, record: &record, reviewed: &reviewed, others: others.as_deref() };
    let bytes = match arguments.format {
        ReportFormat::Pdf => {
            let text = arguments.template.as_deref().map(read_template).transpose()?;
            let name = arguments.template.as_deref().and_then(Path::file_name);
            let name = name.unwrap_or_default().to_string_lossy();
            let template = text.as_deref().map(|text| Template { name: &name, text });
            let paper = match arguments.paper {
                ReportPaper::A4 => Paper::A4,
                ReportPaper::Letter => Paper::Letter,
            };
            filing.pdf(paper, person::now(), template)?
        }
        ReportFormat::Csv => match arguments.rows {
            Rows::Exceptions => filing.csv()?.into_bytes(),
            Rows::Observations => filing.observations_csv()?.into_bytes(),
            Rows::Diverts => filing.diverts_csv()?.into_bytes(),
        },
        ReportFormat::Json => filing.json()?.into_bytes(),
    };
    output::write(&bytes, arguments.output.as_deref())?;
    if !reviewed.is_at_fault() {
        return Ok(Outcome::Clean);
    }
    let links = reviewed.verification.links.iter().filter(|link| !link.holds);
    for link in links.filter(|link| link.what != SIGN_OFF) {
        output::complain(&link.to_string());
    }
    Ok(Outcome::Exceptions)
}

fn read_template(path: &Path) -> Result<String, Box<dyn Error>> {
    let read = disk::read(path, LARGEST_TEMPLATE, disk::Links::Follow)
        .and_then(|bytes| String::from_utf8(bytes).map_err(std::io::Error::other));
    Ok(read.map_err(|cause| format!("{}: can't be read ({cause})", path.display()))?)
}
