//! Writes the summary of a logger file, with nothing decided, and tells how long the pages took:
//! `cargo run -p paper --example summary -- FILE PLANT_FILE OUTPUT [TEMPLATE]`.

use case::Case;
use ingest::{Input, Progress};
use paper::{Filing, Paper, Summary, Template};
use plant::Plant;
use review::Reviewed;
use std::error::Error;
use std::path::Path;
use std::time::Instant;

#[expect(clippy::print_stdout, reason = "an example tells what it did")]
fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [file, plant, output, own @ ..] = arguments.as_slice() else {
        return Err("FILE PLANT_FILE OUTPUT [TEMPLATE]".into());
    };
    let plant = Plant::read(Path::new(plant))?;
    let input = Input::Bytes { name: file.clone(), bytes: std::fs::read(file)? };
    let read = ingest::read(&[input], &plant, &Progress::default())?;
    let case = Case::new(read.record, plant, read.observations, read.assumptions);
    let template = own.first().map(std::fs::read_to_string).transpose()?;
    let reviewed = Reviewed::unread();
    let summary = Summary {
        filing: Filing { case: &case, record: file, reviewed: &reviewed, others: None },
        paper: Paper::A4,
        created: case.record().interval().end(),
        template: own.first().zip(template.as_deref()).map(|(name, text)| Template { name, text }),
    };
    for _ in 0..3 {
        let start = Instant::now();
        let bytes = paper::summary(&summary)?;
        println!("{} bytes in {} ms", bytes.len(), start.elapsed().as_millis());
        std::fs::write(output, bytes)?;
    }
    Ok(())
}
