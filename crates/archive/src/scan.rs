//! A folder gone through: every record with its row and where its review stands.
//!
//! The folder itself and the folders in it are looked at, so that a plant may keep one for each
//! pasteurizer. A record is what a journal names, or else one logger file. A record whose files are
//! gone is still told when its journal is there.

use crate::error::Error;
use crate::files::{Files, files_named_by};
use crate::kept::{Kept, Seen};
use crate::progress::ScanProgress;
use crate::record;
use crate::shelf::Shelf;
use crate::trust::Trust;
use daybook::{Day, Entry};
use ingest::Progress;
use journal::Reading;
use plant::Plant;
use review::{Books, Evidence, Paths, Reviewed, Subject};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Component, Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;
use std::time::{Duration, Instant, SystemTime};

/// How often what was read is kept while a scan goes on, so that a stopped one is not lost.
const KEEP_EVERY: Duration = Duration::from_secs(5);

/// A folder that was gone through.
#[derive(Debug)]
pub struct Scan {
    /// The records, in order of their dates, then of their names; those without a date first.
    pub entries: Vec<Entry>,
    /// Folders in the folder that could not be looked into, in sentences.
    pub problems: Vec<String>,
    /// The books that the records were checked against.
    pub books: Vec<Books>,
}

/// One record to be looked at.
struct Job {
    files: Files,
    journal: Reading,
    /// Why the journal can't be read at all.
    unreadable: Option<String>,
    named: Option<Subject>,
    register: PathBuf,
    plant: Option<PathBuf>,
}

/// Goes through a folder. `cache` is where rows are kept; without it every record is read. `trust` says
/// which books of the plant are the right ones.
///
/// # Errors
/// When the folder can't be read, or the scan was cancelled.
pub fn scan(
    folder: &Path,
    cache: Option<&Path>,
    trust: &Trust,
    progress: &ScanProgress,
) -> Result<Scan, Error> {
    let mut problems = Vec::new();
    let (jobs, registers) = jobs(folder, &mut problems)?;
    progress.expect(jobs.len());
    let mut shelf = Shelf::open(cache, folder);
    let mut books: BTreeMap<&Path, Books> = BTreeMap::new();
    for job in &jobs {
        let read = || trust.books(&job.register, job.plant.as_deref());
        books.entry(job.register.as_path()).or_insert_with(read);
    }
    // A ledger still knows the records of a folder that were all taken away.
    for register in &registers {
        let plant = ingest::plant_file_beside(register);
        books.entry(register.as_path()).or_insert_with(|| trust.books(register, plant.as_deref()));
    }
    let desk = Desk { books, now: trust.now() };
    let next = AtomicUsize::new(0);
    let workers = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let (sender, results) = mpsc::channel();
    let (mut rows, mut looked) = (BTreeMap::new(), Vec::with_capacity(jobs.len()));
    let before = &shelf.rows;
    std::thread::scope(|scope| {
        for _ in 0..workers.min(jobs.len()) {
            let (sender, next, jobs, desk) = (sender.clone(), &next, &jobs, &desk);
            scope.spawn(move || {
                while let Some(job) = jobs.get(next.fetch_add(1, Ordering::Relaxed)) {
                    if progress.is_cancelled() {
                        break;
                    }
                    let (entry, row) = look_at(job, before, desk);
                    progress.add();
                    if sender.send((job, entry, row)).is_err() {
                        break;
                    }
                }
            });
        }
        drop(sender);
        let mut kept_at = Instant::now();
        let mut fresh = false;
        for (job, entry, row) in &results {
            fresh |= !entry.kept;
            looked.push((job, entry));
            if let Some((name, row)) = row {
                rows.insert(name, row);
            }
            if fresh && kept_at.elapsed() > KEEP_EVERY {
                let mut all = before.clone();
                all.extend(rows.clone());
                shelf.with(all).keep();
                kept_at = Instant::now();
            }
        }
    });
    let changed = rows != shelf.rows;
    if progress.is_cancelled() {
        shelf.rows.extend(rows);
    } else {
        shelf.rows = rows;
    }
    if changed {
        shelf.keep();
    }
    if progress.is_cancelled() {
        return Err(Error::Cancelled);
    }
    looked.sort_by(|(_, one), (_, other)| {
        (one.date(), &one.record).cmp(&(other.date(), &other.record))
    });
    let (jobs, mut entries): (Vec<&Job>, Vec<Entry>) = looked.into_iter().unzip();
    daybook::join(&mut entries);
    for (job, entry) in jobs.iter().zip(&mut entries) {
        // Only now it is known what lies before it.
        if entry.hole().is_some() {
            entry.review = desk.review_of(job, entry);
        }
    }
    let gone = desk.gone(folder, &jobs);
    entries.extend(gone);
    entries.sort_by(|one, other| (one.date(), &one.record).cmp(&(other.date(), &other.record)));
    let books = desk.books.into_values().collect();
    Ok(Scan { entries, problems, books })
}

/// What every record is checked against.
struct Desk<'a> {
    books: BTreeMap<&'a Path, Books>,
    now: trace::Instant,
}

impl Desk<'_> {
    /// Where the review of a record stands, as far as is known what lies before it.
    fn review_of(&self, job: &Job, entry: &Entry) -> Reviewed {
        let none = Books::none("there is no register of signers");
        let books = self.books.get(job.register.as_path()).unwrap_or(&none);
        let fresh = entry.day.as_ref().map(|day| &day.subject).map_err(Clone::clone);
        let journal = job.files.paths().journal;
        let of = (&job.journal, journal.as_path());
        let review = Reviewed::of(&Evidence::new(of, books, fresh, entry.hole(), self.now));
        match &job.unreadable {
            Some(why) => review.unreadable(why),
            None => review,
        }
    }

    /// The records that the ledgers know, and that are not there any more, journal and all.
    fn gone(&self, folder: &Path, jobs: &[&Job]) -> Vec<Entry> {
        let here = |path: &Path| path.canonicalize().unwrap_or_else(|_| path.to_owned());
        let folder = here(folder);
        let lines = jobs.iter().flat_map(|job| &job.journal.lines);
        let heads: BTreeSet<String> = lines.map(|line| line.digest().to_string()).collect();
        let journals = jobs.iter().map(|job| job.files.paths().journal);
        // What has an entry of its own says so itself.
        let told: BTreeSet<PathBuf> = journals.map(|journal| whole(&journal)).collect();
        let mut gone = Vec::new();
        for (register, books) in &self.books {
            let ledgers = here(register.parent().unwrap_or(Path::new("")));
            for posted in books.known_ledger().into_iter().flat_map(signers::Ledger::latest) {
                let journal = straight(&ledgers.join(&posted.stood.journal));
                let is_of_folder = journal.starts_with(&folder);
                let is_there = heads.contains(&posted.stood.head) || told.contains(&journal);
                if is_of_folder && !is_there {
                    gone.push(entry_of_gone(&journal, posted));
                }
            }
        }
        gone
    }
}

/// A record that was signed and is gone.
fn entry_of_gone(journal: &Path, posted: &signers::Posted) -> Entry {
    let why = format!(
        "it was signed (line {} of the ledger, {}, {}), and neither the record nor its journal is there \
         any more: fetch both from the backup",
        posted.line, posted.by, posted.at
    );
    let record = Paths::record_of(journal);
    Entry {
        files: vec![record.clone()],
        record,
        day: Err(why.clone()),
        review: Reviewed::unread().unreadable(&why),
        before: None,
        reviewed: None,
        kept: false,
    }
}

/// A path without `..`, of real folders.
fn straight(path: &Path) -> PathBuf {
    let mut straight = PathBuf::new();
    for part in path.components() {
        match part {
            Component::ParentDir => {
                straight.pop();
            }
            part => straight.push(part),
        }
    }
    straight
}

/// A file with its folder as it really is; the file itself may be gone.
fn whole(path: &Path) -> PathBuf {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let folder = folder.unwrap_or(Path::new("."));
    let folder = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    folder.join(path.file_name().unwrap_or_default())
}

/// The records of a folder and of the folders in it,
/// and the registers that lie in them.
fn jobs(folder: &Path, problems: &mut Vec<String>) -> Result<(Vec<Job>, Vec<PathBuf>), Error> {
    let listed = list(folder)?;
    let within = listed.folders.clone();
    let register_in = |folder: &Path| Paths::register_beside(&folder.join("plant.toml"));
    let mut registers = vec![register_in(folder)];
    let mut folders = vec![listed];
    // A link to a folder that was looked into tells nothing new.
    let mut known: BTreeSet<PathBuf> = folder.canonicalize().into_iter().collect();
    for inner in within {
        if inner.canonicalize().is_ok_and(|real| !known.insert(real)) {
            continue;
        }
        match list(&inner) {
            Ok(listed) => {
                registers.push(register_in(&inner));
                folders.push(listed);
            }
            Err(cause) => problems.push(cause.to_string()),
        }
    }
    let mut jobs = Vec::new();
    for Listed { journals, loggers, plant, .. } in folders {
        let mut taken = BTreeSet::new();
        for path in journals {
            let (journal, unreadable) = match journal::read(&path) {
                Ok(reading) => (reading, None),
                Err(cause) => (Reading::default(), Some(cause.to_string())),
            };
            let Some((files, subject)) = files_named_by(&path, &journal) else {
                // Nothing in it can be relied on; it belongs to the logger file of its name.
                let logger = loggers.iter().find(|file| Paths::of(file, None).journal == path);
                let files = Files::one(logger.cloned().unwrap_or_else(|| path.clone()));
                taken.extend(files.logger.iter().cloned());
                jobs.push(Job::new(files, journal, unreadable, None));
                continue;
            };
            taken.extend(files.logger.iter().cloned());
            jobs.push(Job::new(files, journal, unreadable, Some(subject)));
        }
        let left = loggers.into_iter().filter(|file| !taken.contains(file)).collect();
        for logger in ingest::records(left, plant.as_ref()) {
            let files = Files { logger, ..Files::default() };
            jobs.push(Job::new(files, Reading::default(), None, None));
        }
    }
    registers.retain(|register| register.symlink_metadata().is_ok());
    Ok((jobs, registers))
}

impl Job {
    fn new(
        files: Files,
        journal: Reading,
        unreadable: Option<String>,
        named: Option<Subject>,
    ) -> Self {
        let (register, plant) = (files.paths().register, files.plant_in_use().ok().flatten());
        Self { files, journal, unreadable, named, register, plant }
    }
}

/// What lies in a folder.
struct Listed {
    journals: Vec<PathBuf>,
    loggers: Vec<PathBuf>,
    /// As far as it can be read; whoever reads a record says why not.
    plant: Option<Plant>,
    folders: Vec<PathBuf>,
}

fn list(folder: &Path) -> Result<Listed, ingest::Error> {
    let ingest::Contents { days, others, folders } = ingest::contents(folder)?;
    // A folder in the place of a journal is a journal that can't be read.
    let journals = others.iter().chain(&folders).filter(|file| Paths::is_journal(file));
    let journals = journals.cloned().collect();
    Ok(Listed { journals, loggers: days, plant: plant_of(folder), folders })
}

/// What the plant file in a folder says, which tells the files of several loggers. It is no link: who can
/// write to the folder chooses where that leads.
fn plant_of(folder: &Path) -> Option<Plant> {
    let file = ingest::plant_file_beside(folder)?;
    let is_file = disk::kind(&file).is_ok_and(|kind| kind == disk::Kind::File);
    is_file.then(|| Plant::read(&file).ok())?
}

/// One record: its row from before where its files are the same, else read and audited.
fn look_at(
    job: &Job,
    before: &BTreeMap<String, Kept>,
    desk: &Desk<'_>,
) -> (Entry, Option<(String, Kept)>) {
    let name = job.files.first().to_string_lossy().into_owned();
    let seen = seen(&job.files);
    let kept = before.get(&name).filter(|kept| seen.as_ref() == Some(&kept.seen));
    let (day, row) = match (kept, &seen) {
        (Some(kept), _) => (Ok(kept.day.clone()), Some(kept.clone())),
        (None, seen_before) => {
            let started = SystemTime::now();
            let day = read_day(&job.files);
            let row = day.as_ref().ok().and_then(|day| {
                let seen = seen_before.as_ref()?;
                // What was written while it was read, or just before, may have changed unseen.
                let same = self::seen(&job.files).as_ref() == Some(seen);
                let settled = seen.iter().all(|file| file.is_settled(started));
                (same && settled).then(|| Kept { seen: seen.clone(), day: day.clone() })
            });
            (day.map_err(|cause| cause.to_string()), row)
        }
    };
    let mut entry = Entry {
        record: job.files.first().to_owned(),
        files: job.files.logger.clone(),
        day,
        review: Reviewed::unread(),
        before: None,
        reviewed: job.named.clone(),
        kept: kept.is_some(),
    };
    entry.review = desk.review_of(job, &entry);
    (entry, row.map(|row| (name, row)))
}

fn read_day(files: &Files) -> Result<Day, Error> {
    if files.logger.iter().any(|file| Paths::is_journal(file)) {
        let gone = "there is a journal, and no logger file of its name".to_owned();
        return Err(Error::Day(daybook::Error::Review(gone)));
    }
    // Nobody named them.
    files.are_files()?;
    let case = record::read(files, None, &Progress::default())?;
    Day::new(&case).map_err(Error::Day)
}

/// The files of a record as they are; `None` when one of them is not there or no file.
fn seen(files: &Files) -> Option<Vec<Seen>> {
    files.are_files().ok()?;
    let others = [
        files.plant_in_use().ok()?,
        files.run_sheet_in_use().ok()?,
        files.operator_entries_in_use().ok()?,
    ];
    let others = others.into_iter().flatten();
    files.logger.iter().cloned().chain(others).map(|file| Seen::now(&file)).collect()
}
