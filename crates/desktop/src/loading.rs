//! Reading and auditing off the thread that draws: one job at a time, in order, with progress
//! and cancel.

use crate::problems::Problem;
use crate::review::{self, Clock, Opened};
use archive::{Files, Trust};
use case::Case;
use ingest::Progress;
use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};

/// What to read: the files of one day, with the plant file that was chosen, if one was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Task {
    /// The files.
    pub files: Vec<PathBuf>,
    /// The plant file; without one, `plant.toml` beside the first file is used.
    pub plant: Option<PathBuf>,
}

impl Task {
    /// The name on the screen.
    pub fn name(&self) -> String {
        record_name(&self.files)
    }
}

/// The name of a record of these files on the screen.
pub fn record_name(files: &[PathBuf]) -> String {
    let first = files.first().map_or_else(String::new, |file| file_name(file));
    match files.len() {
        0 | 1 => first,
        more => format!("{first} and {} more", more - 1),
    }
}

/// The last part of a path, for a person.
pub fn file_name(path: &Path) -> String {
    path.file_name()
        .map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned())
}

/// What a job gives.
pub struct Loaded {
    /// The name on the screen.
    pub name: String,
    /// What was read, to read it again.
    pub task: Task,
    /// The audited record.
    pub case: Arc<Case>,
    /// What drawing needs.
    pub curves: chart::Curves,
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
    outcome: Receiver<Result<Box<Loaded>, Failure>>,
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
    pub fn poll(&mut self, context: &egui::Context) -> Option<Result<Box<Loaded>, Problem>> {
        let finished = self.running.as_ref().and_then(|running| match running.outcome.try_recv() {
            Ok(outcome) => Some(outcome),
            Err(TryRecvError::Empty) => None,
            Err(TryRecvError::Disconnected) => Some(Err(Failure::Problem(Problem {
                title: format!("{} could not be read", running.name),
                text: "The reader stopped without a word. This is a fault of Holdtrace; please \
                       report it with the file."
                    .to_owned(),
            }))),
        });
        let mut ready = None;
        if let Some(outcome) = finished {
            let cancelled = self.running.take().is_some_and(|running| running.cancelled);
            ready = match outcome {
                // What was asked to stop is not shown, even if it was done just before.
                _ if cancelled => None,
                Ok(loaded) => Some(Ok(loaded)),
                Err(Failure::Cancelled) => None,
                Err(Failure::Problem(problem)) => Some(Err(problem)),
            };
        }
        if self.running.is_none()
            && let Some(task) = self.waiting.pop_front()
        {
            self.running = Some(start(task, self.worker.clone(), context.clone()));
        }
        if self.running.is_some() {
            context.request_repaint_after(std::time::Duration::from_millis(80));
        }
        ready
    }
}

fn start(task: Task, worker: Worker, context: egui::Context) -> Running {
    let (sender, outcome) = channel();
    let progress = Arc::new(Progress::default());
    let name = task.name();
    let job_progress = Arc::clone(&progress);
    let job = move || {
        let result = run(task, worker, &job_progress);
        // Nobody waits any more when the window was closed meanwhile.
        if sender.send(result).is_ok() {
            context.request_repaint();
        }
    };
    if let Err(cause) = std::thread::Builder::new().name("reader".to_owned()).spawn(job) {
        let (sender, failed) = channel();
        let problem = Problem {
            title: format!("{name} could not be read"),
            text: format!("No thread could be started: {cause}."),
        };
        if sender.send(Err(Failure::Problem(problem))).is_ok() {
            return Running { name, progress, cancelled: false, outcome: failed };
        }
    }
    Running { name, progress, cancelled: false, outcome }
}

fn run(task: Task, worker: Worker, progress: &Progress) -> Result<Box<Loaded>, Failure> {
    let name = task.name();
    let Task { files, plant } = task.clone();
    let files = Files { logger: files, plant, run_sheet: None };
    let read = archive::read(&files, None, progress);
    let case = read.map_err(|cause| match cause {
        archive::Error::Cancelled => Failure::Cancelled,
        archive::Error::Plant(cause) => Failure::Problem(Problem {
            title: "The plant file could not be used".to_owned(),
            text: cause.to_string(),
        }),
        cause => Failure::Problem(Problem {
            title: format!("{name} could not be read"),
            text: cause.to_string(),
        }),
    })?;
    let curves = chart::Curves::build(&case);
    let Worker { config, holder, clock } = worker;
    let trust = Trust::new(config.clone(), clock.now());
    let review = review::open(&task, &case, (config, holder), &trust);
    Ok(Box::new(Loaded { name, task, case: Arc::new(case), curves, review }))
}
