//! The records that are timed are read by the program that reads all others.

use std::path::Path;
use std::process::Command;

#[test]
fn a_file_and_a_folder_are_written_with_their_plant_files() {
    let place = Path::new(env!("CARGO_TARGET_TMPDIR")).join("bench");
    std::fs::create_dir_all(&place).unwrap_or_else(|error| panic!("{error}"));
    let file = place.join("two.csv");
    for arguments in [
        vec!["file".into(), file.clone().into_os_string(), "7200".into(), "1000".into()],
        vec!["folder".into(), place.join("days").into_os_string(), "2".into(), "60000".into()],
    ] {
        let status = Command::new(env!("CARGO_BIN_EXE_bench")).args(arguments).status();
        assert!(status.is_ok_and(|status| status.success()));
    }
    let text = std::fs::read_to_string(&file).unwrap_or_default();
    assert_eq!(text.lines().count(), 7201);
    for one in ["two.plant.toml", "days/plant.toml", "days/2026-04-01.csv", "days/2026-04-02.csv"] {
        assert!(place.join(one).is_file(), "{one}");
    }
}

#[test]
fn what_it_does_not_know_it_refuses() {
    for arguments in [&["race"][..], &[], &["file"], &["file", "x.csv", "many", "1000"]] {
        let status = Command::new(env!("CARGO_BIN_EXE_bench")).args(arguments).output();
        assert!(status.is_ok_and(|output| !output.status.success()), "{arguments:?}");
    }
}
