//! `holdtrace summary`: a range of days for an auditor.

use crate::arguments::{ReportPaper, SummaryArguments, SummaryFormat, SummaryRows};
use crate::folder::Gone;
use crate::outcome::Outcome;
use crate::{folder, output, person};
use daybook::{Range, Summary};
use paper::{Paper, RangeSummary};
use std::error::Error;

/// Runs the command.
///
/// # Errors
/// When the folder can't be read or the output not be written.
pub fn run(arguments: &SummaryArguments) -> Result<Outcome, Box<dyn Error>> {
    let vouches = arguments.format != SummaryFormat::Text;
    let Gone { entries, is_whole, imprints, .. } = folder::scan(&arguments.folder, vouches)?;
    let outcome = if is_whole { Outcome::Clean } else { Outcome::Exceptions };
    let range = Range {
        from: arguments.from,
        to: arguments.to,
        unit: arguments.unit.clone(),
        product: arguments.product.clone(),
        lot: arguments.lot.clone(),
    };
    let summary = Summary::new(&entries, range, folder::today())?;
    let output = arguments.output.as_deref();
    let bytes = match arguments.format {
        SummaryFormat::Text => String::from(summary.text()).into_bytes(),
        SummaryFormat::Csv => match arguments.rows {
            SummaryRows::Days => summary.days().csv()?.into_bytes(),
            SummaryRows::Exceptions => summary.exceptions().csv()?.into_bytes(),
        },
        SummaryFormat::Json => {
            let json = summary.json(&person::local_stamp()?.to_string());
            output::json(&json)?.into_bytes()
        }
        SummaryFormat::Pdf => paper::range_summary(&RangeSummary {
            summary: &summary,
            paper: match arguments.paper {
                ReportPaper::A4 => Paper::A4,
                ReportPaper::Letter => Paper::Letter,
            },
            created: chrono::Local::now().fixed_offset(),
            books: &imprints,
        })?,
        SummaryFormat::Parquet => {
            let output = output.ok_or("name a new folder for the Parquet files with --output")?;
            let (days, exceptions) = (summary.days(), summary.exceptions());
            ::tables::write_partitions(&[("days", &days), ("exceptions", &exceptions)], output)?;
            return Ok(outcome);
        }
    };
    output::write(&bytes, output)?;
    Ok(outcome)
}
