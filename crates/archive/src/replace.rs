//! A plant file is replaced by the next one. The one before stays beside it under a dated name: a record
//! that was signed with it is read with it for as long as it is kept.

use crate::Error;
use chrono::NaiveDate;
use disk::{Access, Links, Lock, PATIENCE};
use plant::Plant;
use std::io;
use std::path::{Path, PathBuf};

/// More files of one date are not looked for (ours).
const MOST_OF_A_DATE: usize = 1000;

/// Writes `next` in place of the plant file at `path`, whose bytes were `was` when it was read, and
/// keeps those in a file beside it, named for `today`; gives that file.
///
/// # Errors
/// When the file holds other bytes by now, or one of the two can't be written. Then the plant file is
/// what it was.
pub fn replace_plant_file(
    path: &Path,
    (was, next): (&[u8], &[u8]),
    today: NaiveDate,
) -> Result<PathBuf, Error> {
    let not_written =
        |path: &Path, cause: &io::Error| Error::NotWritten { why: disk::not_written(path, cause) };
    let refused = |cause: &io::Error| not_written(path, cause);
    // Where the file is a link, what it leads to is replaced, and the link stays one.
    let target = path.canonicalize().map_err(|cause| refused(&cause))?;
    let file = disk::read_write(&target).map_err(|cause| refused(&cause))?;
    let _lock = Lock::take(&file, &target, PATIENCE).map_err(|held| refused(&held.into()))?;
    let now = disk::read(&target, Plant::LARGEST_FILE, Links::Refuse);
    if now.map_err(|cause| refused(&cause))? != was {
        return Err(Error::PlantFileChanged { path: path.to_owned() });
    }
    let kept = keep(path, was, today).map_err(|(path, cause)| not_written(&path, &cause))?;
    disk::write_whole(&target, next, Access::Everybody).map_err(|cause| refused(&cause))?;
    Ok(kept)
}

/// Keeps what a plant file held under the first free name of a date.
fn keep(path: &Path, bytes: &[u8], date: NaiveDate) -> Result<PathBuf, (PathBuf, io::Error)> {
    let stem =
        path.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
    let mut kept = path.to_owned();
    for number in 1..=MOST_OF_A_DATE {
        let again = if number == 1 { String::new() } else { format!("-{number}") };
        kept = path.with_file_name(format!("{stem}-until-{date}{again}.toml"));
        match disk::write_new(&kept, bytes, Access::Everybody) {
            Err(cause) if cause.kind() == io::ErrorKind::AlreadyExists => {}
            Err(cause) => return Err((kept, cause)),
            Ok(()) => return Ok(kept),
        }
    }
    Err((kept, io::ErrorKind::AlreadyExists.into()))
}

#[cfg(test)]
mod tests {
    use super::*;

    type Outcome = Result<(), Box<dyn std::error::Error>>;

    fn today() -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, 3, 10).unwrap_or_default()
    }

    #[test]
    fn each_file_before_stays_under_a_name_of_its_own() -> Outcome {
        let folder = tempfile::tempdir()?;
        let path = folder.path().join("plant.toml");
        std::fs::write(&path, "one")?;
        let first = replace_plant_file(&path, (b"one", b"two"), today())?;
        let second = replace_plant_file(&path, (b"two", b"three"), today())?;
        assert_eq!(first, folder.path().join("plant-until-2026-03-10.toml"));
        assert_eq!(second, folder.path().join("plant-until-2026-03-10-2.toml"));
        let read = |path: &Path| std::fs::read_to_string(path);
        assert_eq!([read(&first)?, read(&second)?, read(&path)?], ["one", "two", "three"]);
        assert_eq!(std::fs::read_dir(folder.path())?.count(), 3);
        Ok(())
    }

    #[test]
    fn what_somebody_else_wrote_meanwhile_is_not_written_over() -> Outcome {
        let folder = tempfile::tempdir()?;
        let path = folder.path().join("plant.toml");
        std::fs::write(&path, "of somebody else")?;
        let refused = replace_plant_file(&path, (b"one", b"two"), today());
        assert!(matches!(refused, Err(Error::PlantFileChanged { .. })), "{refused:?}");
        assert_eq!(std::fs::read_to_string(&path)?, "of somebody else");
        assert_eq!(std::fs::read_dir(folder.path())?.count(), 1);
        Ok(())
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_one_and_leads_to_the_next_file() -> Outcome {
        let folder = tempfile::tempdir()?;
        let (of_all, of_one) = (folder.path().join("all.toml"), folder.path().join("line"));
        std::fs::create_dir(&of_one)?;
        std::fs::write(&of_all, "one")?;
        let path = of_one.join("plant.toml");
        std::os::unix::fs::symlink(&of_all, &path)?;
        let kept = replace_plant_file(&path, (b"one", b"two"), today())?;
        assert_eq!(kept, of_one.join("plant-until-2026-03-10.toml"));
        assert!(path.symlink_metadata()?.is_symlink());
        assert_eq!(std::fs::read_to_string(&of_all)?, "two");
        Ok(())
    }
}
