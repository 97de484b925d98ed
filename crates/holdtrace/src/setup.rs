//! `holdtrace setup`: a plant file drafted from logger files, and what is still to be said in it.

use crate::arguments::SetupArguments;
use crate::outcome::Outcome;
use crate::{audit, output};
use ingest::Progress;
use plant::Plant;
use setup::{Draft, Sheets};
use std::error::Error;

/// Runs the command.
///
/// # Errors
/// When a file can't be used, the columns of files do not complement each other, or the draft can't be written.
pub fn run(arguments: &SetupArguments) -> Result<Outcome, Box<dyn Error>> {
    let SetupArguments { files, name, pasteurizer, zone, output } = arguments;
    let inputs = files.iter().map(|file| audit::input(file)).collect::<Result<Vec<_>, _>>()?;
    let progress = Progress::default();
    let sheets = &Sheets::look(&inputs, &progress)?;
    if !zone.is_empty() && !setup::is_zone(zone) {
        let like = setup::zones_like(zone);
        let like = if like.is_empty() { "America/Chicago".to_owned() } else { like.join(", ") };
        return Err(format!("{zone:?} is not a time zone; for example, write {like}").into());
    }
    let mut draft = Draft::of(sheets);
    (draft.plant, draft.unit) = (name.clone(), pasteurizer.clone());
    draft.zone.clone_from(zone);
    let text = draft.text(sheets);
    output::write(text.as_bytes(), output.as_deref())?;
    let mut questions = draft.questions(sheets);
    if questions.is_empty() {
        let plant = Plant::parse("the draft", &text)?;
        match ingest::read(&inputs, &plant, &progress) {
            Ok(_) => return Ok(Outcome::Clean),
            Err(cause) => match Draft::question_of(&cause, sheets) {
                Some(question) => questions.push(question),
                None => return Err(cause.into()),
            },
        }
    }
    for question in questions {
        output::complain(&format!("required: {}", question.text(sheets, &draft)));
    }
    Ok(Outcome::Exceptions)
}
