//! Work that takes too long for a frame, such as unlocking a key: done on a thread of its own.

use std::sync::mpsc::{Receiver, RecvTimeoutError, TryRecvError, channel};
use std::time::Duration;

/// Work on its way.
pub struct Job<T> {
    result: Receiver<T>,
    /// Why it could not begin.
    failed: Option<std::io::Error>,
}

/// What has become of it.
pub enum Progress<T> {
    /// It goes on.
    Running,
    /// It is done.
    Done(T),
    /// It stopped without a result.
    Lost,
}

impl<T: Send + 'static> Job<T> {
    /// Begins.
    pub fn begin(context: &egui::Context, work: impl FnOnce() -> T + Send + 'static) -> Self {
        let (sender, receiver) = channel();
        let context = context.clone();
        let work = move || {
            // Nobody waits any more when the dialog was closed meanwhile.
            if sender.send(work()).is_ok() {
                context.request_repaint();
            }
        };
        // Without a thread the sender is gone, and the work counts as lost.
        let failed = std::thread::Builder::new().name("job".to_owned()).spawn(work).err();
        Self { result: receiver, failed }
    }

    /// Work that is done already.
    pub fn done(result: T) -> Self {
        let (sender, receiver) = channel();
        // The receiver is right here.
        let _sent = sender.send(result);
        Self { result: receiver, failed: None }
    }

    /// Why it could not begin, in a sentence.
    pub fn failed(&self) -> Option<String> {
        self.failed.as_ref().map(|cause| format!("No thread could be started: {cause}."))
    }

    /// Looks whether it is done.
    pub fn poll(&self, context: &egui::Context) -> Progress<T> {
        match self.result.try_recv() {
            Ok(result) => Progress::Done(result),
            Err(TryRecvError::Disconnected) => Progress::Lost,
            Err(TryRecvError::Empty) => {
                context.request_repaint_after(Duration::from_millis(60));
                Progress::Running
            }
        }
    }

    /// Waits for its end for a while: for what is nearly always done within a frame.
    pub fn wait(&self, patience: Duration) -> Progress<T> {
        match self.result.recv_timeout(patience) {
            Ok(result) => Progress::Done(result),
            Err(RecvTimeoutError::Disconnected) => Progress::Lost,
            Err(RecvTimeoutError::Timeout) => Progress::Running,
        }
    }
}

impl<T: Send + 'static, E: Send + 'static> Job<Result<T, E>> {
    /// Takes the result of a job once there is one; `lost` stands for one that never comes.
    pub fn take(
        place: &mut Option<Self>,
        context: &egui::Context,
        lost: impl FnOnce() -> E,
    ) -> Option<Result<T, E>> {
        let result = match place.as_ref()?.poll(context) {
            Progress::Running => return None,
            Progress::Done(result) => result,
            Progress::Lost => Err(lost()),
        };
        *place = None;
        Some(result)
    }
}
