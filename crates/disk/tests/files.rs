//! What this crate holds against folders that others can write to.

use disk::{Access, Kind, Links, Refusal};
use std::io;
use std::path::{Path, PathBuf};

const PLENTY: u64 = 1 << 20;

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().unwrap_or_else(|error| panic!("{error}"))
}

fn put(path: &Path, text: &str) {
    std::fs::write(path, text).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
}

fn text(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn names(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).unwrap_or_else(|error| panic!("{error}"));
    let names = entries.flatten().map(|entry| entry.file_name().to_string_lossy().into_owned());
    let mut names: Vec<String> = names.collect();
    names.sort();
    names
}

fn refused<T>(result: io::Result<T>) -> Refusal {
    match result {
        Ok(_) => panic!("it was not refused"),
        Err(error) => Refusal::of(&error).unwrap_or_else(|| panic!("another error: {error}")),
    }
}

#[cfg(unix)]
fn link(to: &Path, at: &Path) {
    std::os::unix::fs::symlink(to, at).unwrap_or_else(|error| panic!("{error}"));
}

#[cfg(unix)]
fn pipe(at: &Path) {
    let made = std::process::Command::new("mkfifo").arg(at).status();
    assert!(made.is_ok_and(|status| status.success()), "mkfifo {}", at.display());
}

#[test]
fn a_file_is_read_up_to_its_limit() {
    let folder = folder();
    let path = folder.path().join("a");
    put(&path, "12345678");
    assert_eq!(disk::read(&path, 8, Links::Refuse).ok().as_deref(), Some(&b"12345678"[..]));
    let error = refused(disk::read(&path, 7, Links::Refuse));
    assert_eq!(error, Refusal::TooLarge { size: 8, limit: 7 });
    assert_eq!(error.to_string(), "it has 8 bytes; at most 7 are read");
    let gone = disk::read(&folder.path().join("b"), 7, Links::Refuse);
    assert!(gone.is_err_and(|error| error.kind() == io::ErrorKind::NotFound));
}

#[test]
#[cfg(unix)]
fn no_link_is_read_or_written_through_or_replaced() {
    let folder = folder();
    let (secret, link_path) = (folder.path().join("secret"), folder.path().join("link"));
    put(&secret, "secret");
    link(&secret, &link_path);
    let link = Refusal::NotAFile(Kind::Link);
    assert_eq!(refused(disk::read(&link_path, PLENTY, Links::Refuse)), link);
    assert_eq!(refused(disk::append(&link_path)), link);
    assert_eq!(refused(disk::read_write(&link_path)), link);
    assert_eq!(refused(disk::write_whole(&link_path, b"x", Access::Everybody)), link);
    assert_eq!(refused(disk::write_output(&link_path, b"x")), link);
    for made in [
        disk::create_new(&link_path).err(),
        disk::write_new(&link_path, b"x", Access::Everybody).err(),
    ] {
        assert_eq!(made.map(|error| error.kind()), Some(io::ErrorKind::AlreadyExists));
    }
    assert_eq!(text(&secret), "secret");
    assert_eq!(names(folder.path()), ["link", "secret"]);
    let named = disk::read(&link_path, PLENTY, Links::Follow);
    assert_eq!(named.ok().as_deref(), Some(&b"secret"[..]), "what the user names may be a link");
}

#[test]
#[cfg(unix)]
fn nothing_is_made_through_a_link_that_leads_nowhere() {
    let folder = folder();
    let (there, link_path) = (folder.path().join("there"), folder.path().join("link"));
    link(&there, &link_path);
    assert!(disk::create_new(&link_path).is_err());
    assert!(disk::append(&link_path).is_err());
    assert!(disk::write_whole(&link_path, b"x", Access::Everybody).is_err());
    assert!(disk::write_output(&link_path, b"x").is_err());
    assert_eq!(names(folder.path()), ["link"]);
}

#[test]
#[cfg(unix)]
fn a_pipe_is_refused_without_waiting_for_its_other_end() {
    let folder = folder();
    let path = folder.path().join("pipe");
    pipe(&path);
    let pipe = Refusal::NotAFile(Kind::Pipe);
    for links in [Links::Follow, Links::Refuse] {
        assert_eq!(refused(disk::open(&path, links)), pipe);
    }
    assert_eq!(refused(disk::append(&path)), pipe);
    assert_eq!(refused(disk::read_write(&path)), pipe);
    assert_eq!(refused(disk::write_whole(&path, b"x", Access::Everybody)), pipe);
    assert_eq!(pipe.to_string(), "it is a pipe, not a file");
    let device = Path::new("/dev/zero");
    assert_eq!(refused(disk::open(device, Links::Follow)), Refusal::NotAFile(Kind::Device));
    let here = disk::read(folder.path(), PLENTY, Links::Follow);
    assert_eq!(refused(here), Refusal::NotAFile(Kind::Folder));
}

#[test]
fn a_file_is_replaced_as_a_whole_and_nothing_stays_behind() {
    let folder = folder();
    let path = folder.path().join("a");
    for bytes in [&b"first"[..], b"second"] {
        assert!(disk::write_whole(&path, bytes, Access::Everybody).is_ok());
        assert_eq!(text(&path).as_bytes(), bytes);
        assert_eq!(names(folder.path()), ["a"]);
    }
    assert!(disk::write_whole(folder.path(), b"x", Access::Everybody).is_err());
    let taken = disk::write_new(&path, b"third", Access::Everybody);
    assert!(taken.is_err_and(|error| error.kind() == io::ErrorKind::AlreadyExists));
    assert_eq!(text(&path), "second");
}

#[test]
#[cfg(unix)]
fn what_is_for_its_owner_no_one_else_reads() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = folder();
    let mode = |name: &str, access| {
        let path = folder.path().join(name);
        assert!(disk::write_whole(&path, b"x", access).is_ok());
        path.metadata().map_or(0, |meta| meta.permissions().mode() & 0o777)
    };
    assert_eq!(mode("own", Access::OwnerOnly), 0o600);
    assert_ne!(mode("all", Access::Everybody), 0o600, "what the mask allows");
}

#[test]
fn left_over_temporary_files_are_swept() {
    let folder = folder();
    let old = std::time::SystemTime::now() - std::time::Duration::from_hours(25);
    let at = |name: &str, time| {
        let path = folder.path().join(name);
        put(&path, "left over");
        let set =
            std::fs::File::options().write(true).open(path).map(|file| file.set_modified(time));
        assert!(set.is_ok_and(|set| set.is_ok()));
    };
    at(".holdtrace-Ab3dEf", old);
    // At work still, another name, another program's.
    at(".holdtrace-Fresh1", std::time::SystemTime::now());
    at(".holdtrace-notes", old);
    at(".holdtrace-Ab3dEf.txt", old);
    at(".tmpAb3dEf", old);
    std::fs::create_dir(folder.path().join(".holdtrace-Folder"))
        .unwrap_or_else(|error| panic!("{error}"));
    #[cfg(unix)]
    link(Path::new("a"), &folder.path().join(".holdtrace-aLinks"));
    let before = names(folder.path());
    assert!(disk::write_whole(&folder.path().join("a"), b"x", Access::Everybody).is_ok());
    let mut expected: Vec<String> =
        before.into_iter().filter(|name| name != ".holdtrace-Ab3dEf").collect();
    expected.push("a".to_owned());
    assert_eq!(names(folder.path()), expected);
}

#[test]
#[cfg(unix)]
fn a_result_goes_to_a_device_or_a_pipe_and_replaces_neither() {
    let folder = folder();
    // Of our own, so that a fault does not take the machine's away; only the administrator gets one.
    let null = folder.path().join("null");
    let made = std::process::Command::new("mknod").arg(&null).args(["c", "1", "3"]).output();
    if made.is_ok_and(|made| made.status.success()) {
        assert!(disk::write_output(&null, b"x").is_ok());
        assert_eq!(disk::kind(&null).ok(), Some(Kind::Device), "it is a device still");
    }
    let path = folder.path().join("pipe");
    pipe(&path);
    let reader = {
        let path: PathBuf = path.clone();
        std::thread::spawn(move || std::fs::read(path))
    };
    assert!(disk::write_output(&path, b"through").is_ok());
    let Ok(Ok(read)) = reader.join() else { panic!("the other end reads") };
    assert_eq!(read, b"through");
    assert_eq!(disk::kind(&path).ok(), Some(Kind::Pipe));
    let file = folder.path().join("file");
    assert!(disk::write_output(&file, b"a").is_ok_and(|()| text(&file) == "a"));
    assert!(disk::write_output(&file, b"b").is_ok_and(|()| text(&file) == "b"));
    assert_eq!(refused(disk::write_output(folder.path(), b"x")), Refusal::NotAFile(Kind::Folder));
}
