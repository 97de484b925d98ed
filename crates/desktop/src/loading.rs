//! Reading and auditing off the thread that draws: one job at a time, in order, with progress
//! and cancel.

use crate::clock::Clock;
use crate::job::{self, Job};
use crate::problem::Problem;
use crate::review::open::{self, Opened};
use crate::setup::Unknown;
use crate::task::Task;
use archive::{Files, Trust};
use case::Case;
use chart::Curves;
use ingest::Progress;
use std::collections::VecDeque;
use std::path::PathBuf;
use std::sync::Arc;

/// What a job gives.
pub enum Ready {
    /// A record.
    Day(Box<Loaded>),
    /// Files that nobody has told how to read.
    Unknown(Box<Unknown>),
}

/// A record that was read.
pub struct Loaded {
    /// The name on the screen.
    pub name: String,
    /// What was read, to read it again.
    pub task: Task,
    /// The audited record.
    pub case: Arc<Case>,
    /// What drawing needs.
    pub curves: Arc<Curves>,
    /// The review that lies beside the record.
    pub review: Opened,
}

/// Who is at work, for the review that is opened with a record.
#[derive(Debug, Clone, Default)]
pub struct Worker {
    /// The user's own folder; without one no draft is kept.
    pub config: Option<PathBuf>,
    /// How others learn who holds the record.
    pub holder: String,
    /// The clock on the wall.
    pub clock: Clock,
}

/// The jobs.
#[derive(Default)]
pub struct Loader {
    /// Who is at work.
    pub worker: Worker,
    waiting: VecDeque<Task>,
    running: Option<Running>,
}

struct Running {
    name: String,
    progress: Arc<Progress>,
    cancelled: bool,
    job: Job<Result<Ready, Failure>>,
}

enum Failure {
    Cancelled,
    Problem(Problem),
}

impl Loader {
    /// Puts a job at the end of the queue.
    pub fn push(&mut self, task: Task) {
        self.waiting.push_back(task);
    }

    /// The name and the progress, 0 to 1, of the job that runs, and how many wait.
    pub fn status(&self) -> Option<(&str, f32, usize)> {
        self.running
            .as_ref()
            .map(|running| (running.name.as_str(), running.progress.fraction(), self.waiting.len()))
    }

    /// Whether a job runs or waits.
    pub fn is_busy(&self) -> bool {
        self.running.is_some() || !self.waiting.is_empty()
    }

    /// Stops the job that runs. What waits comes next.
    pub fn cancel(&mut self) {
        if let Some(running) = &mut self.running {
            running.cancelled = true;
            running.progress.cancel();
        }
    }

    /// Starts the next job if none runs, and hands over what is ready.
    pub fn poll(&mut self, context: &egui::Context) -> Option<Result<Ready, Problem>> {
        let mut ready = None;
        if let Some(Running { name, job, cancelled, .. }) = &self.running {
            // What was asked to stop is not shown, even if it was done just before.
            ready = match job.poll(context) {
                job::Progress::Running => return None,
                _ if *cancelled => None,
                job::Progress::Done(Ok(ready)) => Some(Ok(ready)),
                job::Progress::Done(Err(Failure::Cancelled)) => None,
                job::Progress::Done(Err(Failure::Problem(problem))) => Some(Err(problem)),
                job::Progress::Lost => {
                    let lost = "The reader ended unexpectedly. Please report this, with the file.";
                    let why = job.failed().unwrap_or_else(|| lost.to_owned());
                    Some(Err(Problem::new(format!("{name} could not be read"), why)))
                }
            };
            self.running = None;
        }
        if self.running.is_none()
            && let Some(task) = self.waiting.pop_front()
        {
            self.running = Some(start(task, self.worker.clone(), context));
            context.request_repaint();
        }
        ready
    }
}

/// Why files that can be read are set up.
const NO_ZONE: &str = "The files can be read. Nothing says in which time zone their stamps are.";

fn start(task: Task, worker: Worker, context: &egui::Context) -> Running {
    let progress = Arc::new(Progress::default());
    let (name, told) = (task.name(), Arc::clone(&progress));
    let job = Job::begin(context, move || run(task, worker, &told));
    Running { name, progress, cancelled: false, job }
}

fn run(task: Task, worker: Worker, progress: &Progress) -> Result<Ready, Failure> {
    let Task { files, plant, is_set_up } = task;
    // Where one of several loggers' files was opened alone, the others come with it.
    let files = Files { logger: files, plant, run_sheet: None, operator_entries: None }.together();
    let task = Task { files: files.logger.clone(), plant: files.plant.clone(), is_set_up };
    let name = task.name();
    let unread =
        |cause: String| Failure::Problem(Problem::new(format!("{name} could not be read"), cause));
    if is_set_up {
        let unknown =
            Unknown::look(&task.files, None).map_err(|cause| unread(cause.to_string()))?;
        return Ok(Ready::Unknown(Box::new(unknown)));
    }
    let read = archive::read(&files, None, progress);
    if let Err(archive::Error::Ingest(cause)) = &read
        && matches!(files.plant_in_use(), Ok(None))
        && let Ok(unknown) = Unknown::look(&files.logger, Some(cause.to_string()))
    {
        return Ok(Ready::Unknown(Box::new(unknown)));
    }
    // A day that begins at another hour is misread without a word: the page asks, as it does where nothing
    // can be read.
    if let Ok(case) = &read
        && case.plant().is_assumed()
        && ingest::is_zone_assumed(case.assumptions())
        && let Ok(unknown) = Unknown::look(&files.logger, Some(NO_ZONE.to_owned()))
    {
        return Ok(Ready::Unknown(Box::new(unknown)));
    }
    let case = read.map_err(|cause| match cause {
        archive::Error::Cancelled => Failure::Cancelled,
        archive::Error::Plant(cause) => {
            Failure::Problem(Problem::new("The plant file could not be used", cause.to_string()))
        }
        cause => unread(cause.to_string()),
    })?;
    let curves = Arc::new(Curves::build(&case));
    let Worker { config, holder, clock } = worker;
    let trust = Trust::new(config.clone(), clock.now());
    let review = open::open(&task, &case, (config, holder), &trust);
    Ok(Ready::Day(Box::new(Loaded { name, task, case: Arc::new(case), curves, review })))
}
