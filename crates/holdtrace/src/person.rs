//! The person at the keyboard: their keys on this machine, their passphrase, the time on the clock.

use crate::arguments::{Common, PassphraseArguments};
use crate::output;
use archive::Trust;
use journal::Stamp;
use plant::Zone;
use signers::{KeyFolder, Passphrase, SignerId, UnlockedKey};
use std::error::Error;
use std::fs::File;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use trace::Instant;
use zeroize::Zeroizing;

/// The longest passphrase that is taken, in bytes (ours).
const LONGEST: usize = 1024;

/// Where this user's keys lie.
///
/// # Errors
/// When the system does not say where a user's configuration belongs.
pub fn keys() -> Result<KeyFolder, Box<dyn Error>> {
    let folder = desktop::Settings::usual_folder()
        .ok_or("the system names no folder for configuration; set HOME or XDG_CONFIG_HOME")?;
    Ok(KeyFolder::under(&folder))
}

/// What this user has seen of the plants' books before, and the time.
pub fn trust() -> Trust {
    Trust::new(desktop::Settings::usual_folder(), now())
}

/// Remembers what this user has just entered in the books whose register lies at `register`, so that an
/// older copy that is put back afterwards is seen. What there is to be alarmed about is told.
pub fn remember(register: &Path) {
    let plant_file = ingest::plant_file_beside(register);
    for alarm in trust().books(register, plant_file.as_deref()).alarms {
        output::complain(&alarm);
    }
}

/// Now.
pub fn now() -> Instant {
    Instant::from_unix_milliseconds(chrono::Utc::now().timestamp_millis())
}

/// Now, on the plant's clock, for an entry about a record.
///
/// # Errors
/// When the clock shows a time that can't be written down, or differs from that of the disk and nobody
/// said that it is right.
pub fn stamp(zone: Zone, common: &Common) -> Result<Stamp, Box<dyn Error>> {
    let first = common.record.files.first();
    ask_clock(first.map(PathBuf::as_path), common.clock_is_right)?;
    Ok(zone.rfc3339(now()).parse::<Stamp>()?)
}

/// Asks first when the clock of this machine differs from that of the disk where a file lies.
fn ask_clock(file: Option<&Path>, is_right: bool) -> Result<(), Box<dyn Error>> {
    let folder = file.and_then(Path::parent).filter(|folder| !folder.as_os_str().is_empty());
    match archive::clock_differs(folder.unwrap_or(Path::new("."))).filter(|_| !is_right) {
        None => Ok(()),
        Some(told) => Err(format!(
            "{told}; nothing was written: an entry with a wrong date can never be removed. Set the clock right, \
             or confirm it with --clock-is-right"
        )
        .into()),
    }
}

/// Now, on this machine's clock, for an entry in the register at `path`.
///
/// # Errors
/// As [`stamp`].
pub fn stamp_beside(path: &Path, is_right: bool) -> Result<Stamp, Box<dyn Error>> {
    ask_clock(Some(path), is_right)?;
    local_stamp()
}

/// Now, on this machine's clock.
///
/// # Errors
/// When the clock shows a time that can't be written down.
pub fn local_stamp() -> Result<Stamp, Box<dyn Error>> {
    let now = chrono::Local::now();
    let instant = Instant::from_unix_milliseconds(now.timestamp_millis());
    let stamp = Stamp::new(instant, now.offset().local_minus_utc());
    Ok(stamp.ok_or("the clock of this machine shows a time that can't be written down")?)
}

/// The key of a signer, unlocked with the passphrase.
///
/// # Errors
/// When there is no key, or the passphrase is wrong or can't be read.
pub fn unlock(
    signer: &SignerId,
    arguments: &PassphraseArguments,
) -> Result<UnlockedKey, Box<dyn Error>> {
    let passphrase = passphrase(arguments, &format!("Passphrase of {signer}: "))?;
    Ok(keys()?.unlock(signer, &passphrase, now())?)
}

/// The passphrase, from where the arguments say.
///
/// # Errors
/// When it can't be read.
pub fn passphrase(
    arguments: &PassphraseArguments,
    prompt: &str,
) -> Result<Passphrase, Box<dyn Error>> {
    match arguments.passphrase_fd {
        Some(number) => line(&mut descriptor(number)?, number),
        None => ask(prompt),
    }
}

/// A new passphrase: who types it types it twice, since nobody sees what was typed. A program that
/// hands it in is taken at its word.
///
/// # Errors
/// When it can't be read, or the second is another.
pub fn new_passphrase(arguments: &PassphraseArguments) -> Result<Passphrase, Box<dyn Error>> {
    match arguments.passphrase_fd {
        Some(number) => line(&mut descriptor(number)?, number),
        None => ask_twice(),
    }
}

/// The old passphrase and a new one; from a file descriptor its first line and its second.
///
/// # Errors
/// As [`new_passphrase`].
pub fn old_and_new(
    arguments: &PassphraseArguments,
    signer: &SignerId,
) -> Result<(Passphrase, Passphrase), Box<dyn Error>> {
    let Some(number) = arguments.passphrase_fd else {
        return Ok((ask(&format!("Passphrase of {signer}: "))?, ask_twice()?));
    };
    let mut file = descriptor(number)?;
    Ok((line(&mut file, number)?, line(&mut file, number)?))
}

fn ask(prompt: &str) -> Result<Passphrase, Box<dyn Error>> {
    let typed = rpassword::prompt_password(prompt).map_err(|cause| {
        format!("the passphrase can't be asked for ({cause}); use --passphrase-fd")
    })?;
    Ok(Passphrase::new(typed))
}

fn ask_twice() -> Result<Passphrase, Box<dyn Error>> {
    let first = ask("New passphrase: ")?;
    if !ask("The same passphrase again: ")?.is_same(&first) {
        return Err("the two passphrases are not the same; nothing was changed".into());
    }
    Ok(first)
}

fn descriptor(number: u32) -> Result<File, Box<dyn Error>> {
    Ok(File::open(format!("/dev/fd/{number}")).map_err(|cause| unreadable(number, &cause))?)
}

fn unreadable(number: u32, cause: &dyn std::fmt::Display) -> String {
    format!("no passphrase can be read from file descriptor {number}: {cause}")
}

/// The next line, byte by byte, so that no buffer keeps a copy.
fn line(file: &mut File, number: u32) -> Result<Passphrase, Box<dyn Error>> {
    let mut line = Zeroizing::new(Vec::with_capacity(LONGEST));
    let mut byte = Zeroizing::new([0]);
    while file.read(&mut *byte).map_err(|cause| unreadable(number, &cause))? == 1 && *byte != *b"\n"
    {
        if line.len() == LONGEST {
            return Err(unreadable(number, &"its line is too long").into());
        }
        line.extend_from_slice(&*byte);
    }
    if line.last() == Some(&b'\r') {
        line.pop();
    }
    // The bytes are handed on, not copied; of what is no text the error keeps them no longer.
    let text = String::from_utf8(std::mem::take(&mut *line));
    let text = text.map_err(|cause| {
        let _wiped = Zeroizing::new(cause.into_bytes());
        unreadable(number, &"it is not text")
    })?;
    Ok(Passphrase::new(text))
}
