//! Which books of a plant this user trusts: what was seen of them before is kept in the user's own
//! folder, where who can write to the plant's folder can't.
//!
//! The first register that is seen for a plant is taken for the plant's; its first supervisor's
//! fingerprint is to be compared with paper. From then on another one is an alarm and not used, be it
//! in the same place or nearer to the records; and so is a register or a ledger that shows less than it
//! did. Only the user can decide otherwise, with [`Trust::accept`].

use crate::error::Error;
use disk::{Access, Links};
use journal::Digest;
use serde::{Deserialize, Serialize};
use signers::Books;
use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::path::{Path, PathBuf};
use trace::Instant;

/// The most bytes that are read of what was seen (ours): some hundred for each plant and folder.
const LIMIT: u64 = 4 << 20;
/// The file in the user's folder.
const NAME: &str = "seen.json";

/// Where what was seen is kept, and the time by which lines are judged.
#[derive(Debug, Clone)]
pub struct Trust {
    config: Option<PathBuf>,
    now: Instant,
}

/// What was seen before.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
struct Seen {
    /// By the plant's name, the fingerprint of the first supervisor and where the register lies.
    plants: BTreeMap<String, Pinned>,
    /// By the folder of the register, as far as it went.
    folders: BTreeMap<String, Last>,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Pinned {
    fingerprint: String,
    register: String,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Last {
    fingerprint: String,
    /// The plants that it was used for, or accepted for.
    plants: BTreeSet<String>,
    register_lines: u64,
    register_head: String,
    ledger_lines: u64,
    ledger_head: String,
}

impl Trust {
    /// What was seen is kept under the user's folder `config`; without one nothing is remembered.
    pub const fn new(config: Option<PathBuf>, now: Instant) -> Self {
        Self { config, now }
    }

    /// The time by which lines are judged.
    pub const fn now(&self) -> Instant {
        self.now
    }

    /// Reads the books whose register lies at `register`, and compares them with what was seen before.
    /// `plant_file` is the plant file in use, whose plant the register speaks for.
    pub fn books(&self, register: &Path, plant_file: Option<&Path>) -> Books {
        let mut books = Books::read(register);
        let Some(file) = self.file() else { return books };
        let plant = plant_file.and_then(|file| plant::Plant::read(file).ok());
        let plant = plant.map(|plant| plant.name);
        let seen = match read(&file) {
            Ok(seen) => seen,
            Err(why) => {
                books.alarms.push(format!(
                    "{}: what this user has seen of the plant's books before can't be read ({why}); \
                     restore the file, or delete it if you know why it is damaged",
                    file.display()
                ));
                return books;
            }
        };
        let next = judge(&mut books, plant.as_deref(), seen.clone());
        if next != seen
            && let Err(why) = write(&file, &next)
        {
            books.alarms.push(format!(
                "{}: what was seen of the plant's books can't be kept ({why})",
                file.display()
            ));
        }
        books
    }

    /// Reads the books to write in them. What is not what was seen before is not gone on with.
    ///
    /// # Errors
    /// The first alarm.
    pub fn books_to_write(&self, register: &Path) -> Result<Books, Error> {
        let plant_file = ingest::plant_file_beside(register);
        let books = self.books(register, plant_file.as_deref());
        match books.alarms.first() {
            Some(alarm) => Err(Error::Alarm { why: alarm.clone() }),
            None => Ok(books),
        }
    }

    /// Takes the register at `register` for the plant's from now on, whatever was seen before. The
    /// user has compared `fingerprint` with paper: it must be that of the first supervisor.
    ///
    /// # Errors
    /// When the register can't be relied on, begins with another fingerprint, or nothing can be kept.
    pub fn accept(
        &self,
        register: &Path,
        plant_file: Option<&Path>,
        fingerprint: &str,
    ) -> Result<(), Error> {
        let books = Books::read(register);
        let refused = |why: String| Error::NotTrusted { path: register.to_owned(), why };
        let first = first_fingerprint(&books).map_err(refused)?;
        if !is_same_fingerprint(&first, fingerprint) {
            return Err(refused(format!("it begins with the fingerprint {first}")));
        }
        let file = self.file().ok_or_else(|| {
            refused("the system names no folder for the user's configuration".to_owned())
        })?;
        // What can't be read is replaced: the user decides anew.
        let mut seen = read(&file).unwrap_or_default();
        let path = whole(register);
        let folder = folder_of(&path);
        seen.folders.remove(&folder);
        seen.plants.retain(|_, pinned| pinned.register != text(&path));
        let plant = plant_file.and_then(|file| plant::Plant::read(file).ok());
        if let Some(plant) = &plant {
            let register = text(&path);
            let pinned = Pinned { fingerprint: first.clone(), register };
            seen.plants.insert(plant.name.clone(), pinned);
        }
        if let Some(mut last) = last(&books, first) {
            last.plants.extend(plant.map(|plant| plant.name));
            seen.folders.insert(folder, last);
        }
        write(&file, &seen).map_err(|cause| refused(cause.to_string()))
    }

    fn file(&self) -> Option<PathBuf> {
        Some(self.config.as_deref()?.join(NAME))
    }
}

/// Whether two fingerprints are the same, however they are grouped.
pub fn is_same_fingerprint(one: &str, other: &str) -> bool {
    let digits = |text: &str| -> String {
        text.chars().filter(char::is_ascii_hexdigit).collect::<String>().to_ascii_lowercase()
    };
    let whole = 2 * Digest::NONE.0.len();
    digits(one).len() == whole && digits(one) == digits(other)
}

fn first_fingerprint(books: &Books) -> Result<String, String> {
    let register = books.register.as_ref().map_err(Clone::clone)?;
    let first = register.first().ok_or("nobody is enrolled in it")?;
    Ok(first.public_key().fingerprint())
}

/// Sounds the alarms, and gives what is to be remembered from now on: what was seen before, where
/// there is one.
fn judge(books: &mut Books, plant: Option<&str>, mut seen: Seen) -> Seen {
    let path = whole(&books.path);
    let folder = folder_of(&path);
    let known = seen.folders.get(&folder);
    let fingerprint = match first_fingerprint(books) {
        Ok(fingerprint) => fingerprint,
        Err(why) => {
            if let Some(known) = known {
                books.alarms.push(format!(
                    "this folder had a register of signers of {} lines that begins with the \
                     fingerprint {}, and now {why}: fetch it from the backup",
                    known.register_lines, known.fingerprint
                ));
            }
            return seen;
        }
    };
    let refused = |why: String| {
        format!(
            "{why}; it begins with the fingerprint {fingerprint}. It is not used: ask a supervisor \
             you know, compare with paper, and accept it only then (holdtrace signer trust)"
        )
    };
    let other = |one: &str| !is_same_fingerprint(one, &fingerprint);
    // One that was accepted here for this plant stays accepted, wherever another lies.
    let is_accepted = known.zip(plant).is_some_and(|(known, plant)| known.plants.contains(plant));
    let pinned = plant.and_then(|plant| seen.plants.get(plant)).filter(|_| !is_accepted);
    // One that was accepted here stays accepted.
    let above = Path::new(&folder).ancestors().skip(1).filter(|_| known.is_none());
    let above = above.into_iter().find_map(|above| {
        seen.folders.get(&text(above)).filter(|last| other(&last.fingerprint)).map(|_| above)
    });
    let alarm = if let Some(known) = known.filter(|known| other(&known.fingerprint)) {
        Some(refused(format!(
            "ANOTHER REGISTER of signers is here; the one before begins with the fingerprint {}",
            known.fingerprint
        )))
    } else if let Some(pinned) = pinned.filter(|pinned| other(&pinned.fingerprint)) {
        Some(refused(format!(
            "this is NOT the register of signers that was used for {} so far ({}, fingerprint {})",
            plant.unwrap_or_default(),
            pinned.register,
            pinned.fingerprint
        )))
    } else {
        above.map(|above| {
            refused(format!(
                "a register of signers lies NEARER to the records than the one that was used so far \
                 ({})",
                above.display()
            ))
        })
    };
    if let Some(alarm) = alarm {
        books.register = Err(alarm.clone());
        books.ledger = Err("the register of signers is not used, so neither is it".to_owned());
        books.alarms.push(alarm);
        return seen;
    }
    if let Some(known) = known {
        let before = books.alarms.len();
        shows_less(books, known);
        if books.alarms.len() > before {
            return seen;
        }
    }
    if let Some(plant) = plant {
        let register = text(&path);
        let pinned = Pinned { fingerprint: fingerprint.clone(), register };
        seen.plants.entry(plant.to_owned()).or_insert(pinned);
    }
    // A ledger that can't be relied on tells nothing to remember.
    if let Some(mut last) = last(books, fingerprint) {
        last.plants = seen.folders.remove(&folder).map(|last| last.plants).unwrap_or_default();
        last.plants.extend(plant.map(str::to_owned));
        seen.folders.insert(folder, last);
    }
    seen
}

/// Sounds the alarm where register or ledger are not what was seen before, or that and more.
fn shows_less(books: &mut Books, known: &Last) {
    let mut alarms = Vec::new();
    let mut tell = |what: &str, lines: u64, head: &str, now: u64| {
        alarms.push(format!(
            "the {what} showed more before: it had {lines} lines, the last with sha256 {head}, and has \
             {now} now that do not go on from there: lines were cut off, or an older copy was put back"
        ));
    };
    if let Some(register) = books.signers() {
        let head = known.register_head.parse().unwrap_or(Digest::NONE);
        if !register.was(known.register_lines, head) {
            tell("register of signers", known.register_lines, &known.register_head, register.len());
        }
    }
    let head = known.ledger_head.parse().unwrap_or(Digest::NONE);
    match &books.ledger {
        Ok(Some(ledger)) if !ledger.was(known.ledger_lines, head) => {
            tell("ledger", known.ledger_lines, &known.ledger_head, ledger.len());
        }
        Ok(None) if known.ledger_lines > 0 => {
            tell("ledger", known.ledger_lines, &known.ledger_head, 0);
        }
        _ => {}
    }
    books.alarms.extend(alarms);
}

fn last(books: &Books, fingerprint: String) -> Option<Last> {
    let register = books.signers()?;
    let ledger = books.ledger.as_ref().ok()?.as_ref();
    Some(Last {
        fingerprint,
        plants: BTreeSet::new(),
        register_lines: register.len(),
        register_head: register.head().to_string(),
        ledger_lines: ledger.map_or(0, signers::Ledger::len),
        ledger_head: ledger.map_or(Digest::NONE, signers::Ledger::head).to_string(),
    })
}

fn read(file: &Path) -> io::Result<Seen> {
    match disk::read(file, LIMIT, Links::Refuse) {
        Ok(bytes) => Ok(serde_json::from_slice(&bytes)?),
        Err(cause) if cause.kind() == io::ErrorKind::NotFound => Ok(Seen::default()),
        Err(cause) => Err(cause),
    }
}

fn write(file: &Path, seen: &Seen) -> io::Result<()> {
    let bytes = serde_json::to_vec_pretty(seen)?;
    if let Some(folder) = file.parent() {
        std::fs::create_dir_all(folder)?;
    }
    disk::write_whole(file, &bytes, Access::OwnerOnly)
}

fn whole(path: &Path) -> PathBuf {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let folder = folder.unwrap_or_else(|| Path::new("."));
    let real = folder.canonicalize().or_else(|_| std::path::absolute(folder));
    let name = path.file_name().unwrap_or_default();
    real.unwrap_or_else(|_| folder.to_owned()).join(name)
}

fn folder_of(path: &Path) -> String {
    text(path.parent().unwrap_or(path))
}

fn text(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}
