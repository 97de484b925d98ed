//! The reading of the second record, off the thread that draws. Its review is not opened: nobody works on it.

use super::Record;
use crate::job::Job;
use crate::why::Why;
use archive::Files;
use chart::Curves;
use ingest::Progress;
use std::path::PathBuf;
use std::sync::Arc;

/// A record on its way. Who lets go of it stops it.
pub(super) struct Reading {
    progress: Arc<Progress>,
    job: Option<Job<Result<Record, Why>>>,
}

impl Reading {
    /// Begins to read the record of these files.
    pub(super) fn begin(
        context: &egui::Context,
        files: Vec<PathBuf>,
        plant: Option<PathBuf>,
    ) -> Self {
        let progress = Arc::new(Progress::default());
        let told = Arc::clone(&progress);
        let job = Some(Job::begin(context, move || read(files, plant, &told)));
        Self { progress, job }
    }

    /// How far it is, 0 to 1.
    pub(super) fn fraction(&self) -> f32 {
        self.progress.fraction()
    }

    /// The record once it is read, or why it can't be.
    pub(super) fn poll(&mut self, context: &egui::Context) -> Option<Result<Record, Why>> {
        let lost = || Why::from("the reader ended unexpectedly; please report this, with the file");
        Job::take(&mut self.job, context, lost)
    }
}

impl Drop for Reading {
    fn drop(&mut self) {
        self.progress.cancel();
    }
}

fn read(files: Vec<PathBuf>, plant: Option<PathBuf>, progress: &Progress) -> Result<Record, Why> {
    let files = Files { logger: files, plant, run_sheet: None, operator_entries: None }.together();
    let case = archive::read(&files, None, progress)?;
    // As where it is opened by itself: a wrong zone would be a wrong clock.
    if case.plant().is_assumed() && ingest::is_zone_assumed(case.assumptions()) {
        let why = "nothing says in which time zone its stamps are; open it by itself first";
        return Err(why.into());
    }
    let curves = Arc::new(Curves::build(&case));
    Ok(Record { files: files.logger, case: Arc::new(case), curves })
}
