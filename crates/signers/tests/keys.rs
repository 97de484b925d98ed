//! Keys on disk: who may read them, how wrong passphrases slow down, and what `openssl` makes of
//! them.

#![cfg(unix)]

mod common;
#[path = "common/files.rs"]
mod files;
#[path = "common/outside.rs"]
mod outside;

use common::{folder, seconds, stamp};
use files::write;
use outside::{openssl, openssl_says};
use signers::{Cost, Error, KeyFolder, Passphrase, PublicKey};
use std::fs::{self, Permissions};
use std::os::unix::fs::PermissionsExt as _;
use std::path::Path;
use std::process::Command;
use std::time::Duration as Time;
use tests::good;
use tests::people::{PASSPHRASE, id, new_key, passphrase};
use trace::Duration;

fn mode(path: &Path) -> u32 {
    let metadata = good(fs::metadata(path));
    metadata.permissions().mode() & 0o7777
}

fn set_mode(path: &Path, mode: u32) {
    fs::set_permissions(path, Permissions::from_mode(mode)).unwrap_or_else(|e| panic!("{e}"));
}

fn wrong() -> Passphrase {
    Passphrase::new("correct horse staple".to_owned())
}

#[test]
fn a_key_is_for_its_owner_only() {
    let config = folder();
    let keys = KeyFolder::under(&config.path().join("holdtrace"));
    let signer = id("m.ortega");
    let made = keys.create(&signer, &passphrase(), Cost::TEST);
    let made = good(made);
    assert_eq!(keys.path(&signer), config.path().join("holdtrace/keys/m.ortega.pem"));
    assert_eq!(mode(&keys.path(&signer)), 0o600);
    assert_eq!(mode(&config.path().join("holdtrace/keys")), 0o700);
    let back = keys.unlock(&signer, &passphrase(), seconds(0));
    let back = good(back);
    assert_eq!(back.public_key(), made.public_key());
    assert_eq!(back.signer(), &signer);
    let files = fs::read_dir(config.path().join("holdtrace/keys")).map(Iterator::count);
    assert_eq!(files.ok(), Some(3), "nothing but the key, its public part and its lock is left");
    assert_eq!(format!("{back:?}"), "UnlockedKey(m.ortega)", "no secret in what is printed");
}

/// The public key lies beside the private one for whoever is to enrol the signer, and comes back when
/// it was lost or is another's.
#[test]
fn the_public_key_lies_beside_the_private_one() {
    let config = folder();
    let made = new_key(config.path(), "m.ortega");
    let (keys, signer) = (KeyFolder::under(config.path()), made.signer());
    let shown = || fs::read_to_string(keys.public_path(signer)).unwrap_or_default();
    assert_eq!(shown(), made.public_key().to_pem());
    for left in ["", "another key"] {
        assert!(fs::write(keys.public_path(signer), left).is_ok());
        assert!(keys.unlock(signer, &passphrase(), seconds(0)).is_ok());
        assert_eq!(shown(), made.public_key().to_pem());
    }
}

#[test]
fn a_key_is_never_overwritten() {
    let config = folder();
    let made = new_key(config.path(), "m.ortega");
    let keys = KeyFolder::under(config.path());
    let again = keys.create(made.signer(), &passphrase(), Cost::TEST);
    assert!(matches!(again, Err(Error::KeyExists { .. })), "{again:?}");
    let back = keys.unlock(made.signer(), &passphrase(), seconds(0));
    assert_eq!(back.map(|key| key.public_key()).ok(), Some(made.public_key()));
}

#[test]
fn a_short_passphrase_makes_no_key() {
    let config = folder();
    let keys = KeyFolder::under(config.path());
    // Eleven characters, though more bytes.
    let short = Passphrase::new("ärgerlich e".to_owned());
    let error = keys.create(&id("m.ortega"), &short, Cost::TEST).err();
    assert!(
        matches!(error, Some(Error::ShortPassphrase { characters: 11, least: 12 })),
        "{error:?}"
    );
    assert!(!config.path().join("keys").exists());
    let enough = Passphrase::new("ärgerlich es".to_owned());
    assert!(keys.create(&id("m.ortega"), &enough, Cost::TEST).is_ok());
}

#[test]
fn loose_permissions_are_refused_and_the_message_mends_them() {
    let config = folder();
    let config = config.path().join("it's mine");
    let made = new_key(&config, "m.ortega");
    let keys = KeyFolder::under(&config);
    for (path, right) in [(keys.path(made.signer()), 0o600), (config.join("keys"), 0o700)] {
        for open in [0o040, 0o004, 0o020, 0o002, 0o010, 0o001, 0o077] {
            set_mode(&path, right | open);
            let error = keys.unlock(made.signer(), &passphrase(), seconds(0)).err();
            assert!(matches!(error, Some(Error::Loose { .. })), "{open:o}: {error:?}");
            if path.is_dir() {
                let error = keys.create(&id("other"), &passphrase(), Cost::TEST).err();
                assert!(matches!(error, Some(Error::Loose { .. })), "{open:o}: {error:?}");
            }
            let message = error.map(|error| error.to_string()).unwrap_or_default();
            let Some((_, command)) = message.split_once("with: ") else { panic!("{message}") };
            assert!(command.starts_with("chmod "), "{message}");
            let status = Command::new("sh").args(["-c", command]).status();
            assert!(status.is_ok_and(|status| status.success()), "{command}");
            assert!(keys.unlock(made.signer(), &passphrase(), seconds(0)).is_ok(), "{command}");
        }
    }
}

#[test]
fn wrong_passphrases_slow_down_even_over_restarts() {
    let config = folder();
    let made = new_key(config.path(), "m.ortega");
    let signer = made.signer();
    let tries = config.path().join("keys/m.ortega.tries");
    let mut now = seconds(0);
    for pause in [1, 2, 4, 8, 16, 32, 60, 60] {
        let pause = Duration::from_seconds(pause);
        // Each time a new program would open the folder anew.
        let keys = KeyFolder::under(config.path());
        match keys.unlock(signer, &wrong(), now) {
            Err(Error::WrongPassphrase { wait }) => assert_eq!(wait, pause),
            other => panic!("{other:?}"),
        }
        assert_eq!(mode(&tries), 0o600);
        let early = Duration::from_milliseconds(1);
        // Not even the right one is tried early, and being early costs nothing more.
        for _ in 0..3 {
            match keys.unlock(signer, &passphrase(), now + pause - early) {
                Err(Error::TooSoon { wait }) => assert_eq!(wait, early),
                other => panic!("{other:?}"),
            }
        }
        now = now + pause;
    }
    let keys = KeyFolder::under(config.path());
    assert!(keys.unlock(signer, &passphrase(), now).is_ok());
    assert!(!tries.exists(), "a right passphrase clears the count");
    assert!(keys.unlock(signer, &passphrase(), now).is_ok());
    match keys.unlock(signer, &wrong(), now) {
        Err(Error::WrongPassphrase { wait }) => assert_eq!(wait, Duration::from_seconds(1)),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_clock_set_back_does_not_shorten_the_wait() {
    let config = folder();
    let made = new_key(config.path(), "m.ortega");
    let keys = KeyFolder::under(config.path());
    for at in [0, 1, 3] {
        let error = keys.unlock(made.signer(), &wrong(), seconds(at)).err();
        assert!(matches!(error, Some(Error::WrongPassphrase { .. })), "{error:?}");
    }
    // Four seconds are to wait; an hour back they begin anew, and pass.
    for (at, wait) in [(-3600, 4), (-3599, 3), (-3597, 1)] {
        match keys.unlock(made.signer(), &passphrase(), seconds(at)) {
            Err(Error::TooSoon { wait: said }) => assert_eq!(said, Duration::from_seconds(wait)),
            other => panic!("{other:?}"),
        }
    }
    assert!(keys.unlock(made.signer(), &passphrase(), seconds(-3596)).is_ok());
}

#[test]
fn many_programs_at_once_get_one_try() {
    let config = folder();
    let made = new_key(config.path(), "m.ortega");
    let answers: Vec<_> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..16)
            .map(|_| {
                scope.spawn(|| {
                    KeyFolder::under(config.path())
                        .unlock(made.signer(), &wrong(), seconds(0))
                        .err()
                })
            })
            .collect();
        threads.into_iter().map(|thread| thread.join().unwrap_or(None)).collect()
    });
    let tried = answers.iter().filter(|e| matches!(e, Some(Error::WrongPassphrase { .. })));
    let early = answers.iter().filter(|e| matches!(e, Some(Error::TooSoon { .. })));
    assert_eq!((tried.count(), early.count()), (1, 15), "{answers:?}");
}

/// Whoever runs as the same user can hold the lock; the key waits a while and says so.
#[test]
fn a_lock_that_is_held_freezes_nobody_and_costs_no_try() {
    let config = folder();
    let made = new_key(config.path(), "m.ortega");
    let keys = KeyFolder::under(config.path());
    let lock = fs::File::create(config.path().join("keys/m.ortega.lock"));
    let lock = good(lock);
    assert!(lock.lock().is_ok());
    let error = keys.unlock(made.signer(), &passphrase(), seconds(0)).err();
    let Some(error @ Error::Locked { .. }) = error else { panic!("{error:?}") };
    assert!(error.to_string().contains("locked by another program"), "{error}");
    assert!(!config.path().join("keys/m.ortega.tries").exists());
    drop(lock);
    assert!(keys.unlock(made.signer(), &passphrase(), seconds(0)).is_ok());
}

/// A home on NFS gives a lock only on a file that was opened for writing, and the key never is. To
/// take the key's own lock is what the program did before; here somebody else has it.
#[test]
fn a_key_is_unlocked_without_a_lock_on_the_key_file() {
    let config = folder();
    let made = new_key(config.path(), "m.ortega");
    let keys = KeyFolder::under(config.path());
    let key = good(fs::File::open(keys.path(made.signer())));
    assert!(key.lock().is_ok());
    good(keys.unlock(made.signer(), &passphrase(), seconds(0)));
}

#[test]
fn a_count_or_a_lock_that_is_a_link_or_a_pipe_is_refused() {
    let config = folder();
    let made = new_key(config.path(), "m.ortega");
    let keys = KeyFolder::under(config.path());
    let key = keys.path(made.signer());
    let pem = fs::read(&key).ok();
    for name in ["keys/m.ortega.tries", "keys/m.ortega.lock"] {
        let path = config.path().join(name);
        let _absent = fs::remove_file(&path);
        assert!(std::os::unix::fs::symlink(&key, &path).is_ok());
        let error = keys.unlock(made.signer(), &passphrase(), seconds(0)).err();
        assert!(error.is_some_and(|error| error.to_string().contains("it is a link")), "{name}");
        assert_eq!(fs::read(&key).ok(), pem, "{name}");
        assert!(fs::remove_file(&path).is_ok());
        assert!(Command::new("mkfifo").arg(&path).status().is_ok_and(|made| made.success()));
        let error = keys.unlock(made.signer(), &passphrase(), seconds(0)).err();
        assert!(error.is_some_and(|error| error.to_string().contains("it is a pipe")), "{name}");
        assert!(fs::remove_file(&path).is_ok());
    }
}

#[test]
fn a_damaged_count_is_said_and_not_taken_for_none() {
    let config = folder();
    let made = new_key(config.path(), "m.ortega");
    let keys = KeyFolder::under(config.path());
    for text in ["", "{", "{\"tries\":-1,\"last\":0}", "{\"tries\":1}", "\u{0}"] {
        write(&config.path().join("keys/m.ortega.tries"), text.as_bytes());
        let error = keys.unlock(made.signer(), &passphrase(), seconds(0)).err();
        assert!(matches!(error, Some(Error::TriesDamaged { .. })), "{text:?}: {error:?}");
    }
}

#[test]
fn what_is_no_key_is_said_and_costs_no_try() {
    let config = folder();
    let made = new_key(config.path(), "m.ortega");
    let keys = KeyFolder::under(config.path());
    let path = keys.path(made.signer());
    let pem = good(fs::read(&path));
    for bytes in [&b""[..], b"\xff\xfe", &pem[..pem.len() / 2], &vec![b'A'; 1 << 20]] {
        write(&path, bytes);
        let error = keys.unlock(made.signer(), &passphrase(), seconds(0)).err();
        assert!(matches!(error, Some(Error::KeyDamaged { .. })), "{error:?}");
    }
    assert!(!config.path().join("keys/m.ortega.tries").exists());
    let error = keys.unlock(&id("nobody"), &passphrase(), seconds(0)).err();
    assert!(matches!(error, Some(Error::NoKey { .. })), "{error:?}");
}

/// The environment variable that makes the next test the program that is killed.
const TRY_THERE: &str = "HOLDTRACE_TEST_TRY_THERE";

/// The try counts before it is made: a program killed in between has used it up, though its
/// passphrase was right.
#[test]
fn killed_between_try_and_answer_still_counts() {
    if let Some(config) = std::env::var_os(TRY_THERE) {
        let keys = KeyFolder::under(Path::new(&config));
        assert!(keys.unlock(&id("m.ortega"), &passphrase(), seconds(0)).is_ok());
        return;
    }
    let config = folder();
    let keys = KeyFolder::under(config.path());
    let signer = id("m.ortega");
    assert!(keys.create(&signer, &passphrase(), Cost::STRONG).is_ok());
    let tries = config.path().join("keys/m.ortega.tries");
    let program = good(std::env::current_exe());
    // On a busy machine the answer may be quicker than the kill; then there is another round.
    for _round in 0..50 {
        let mut child = Command::new(&program)
            .args(["--exact", "killed_between_try_and_answer_still_counts"])
            .env(TRY_THERE, config.path())
            .stdout(std::process::Stdio::null())
            .spawn()
            .unwrap_or_else(|error| panic!("{error}"));
        while !tries.exists() && matches!(child.try_wait(), Ok(None)) {
            std::thread::sleep(Time::from_micros(200));
        }
        assert!(child.kill().is_ok());
        let status = good(child.wait());
        if status.code().is_none() && tries.exists() {
            match keys.unlock(&signer, &passphrase(), seconds(0)) {
                Err(Error::TooSoon { wait }) => assert_eq!(wait, Duration::from_seconds(1)),
                other => panic!("{other:?}"),
            }
            assert!(keys.unlock(&signer, &passphrase(), seconds(1)).is_ok());
            return;
        }
        assert!(status.code().is_none_or(|code| code == 0), "the program failed: {status}");
    }
    panic!("50 programs answered before they could be killed");
}

#[test]
fn openssl_reads_a_key_made_here_and_its_signatures() {
    let config = folder();
    let keys = KeyFolder::under(config.path());
    let made = keys.create(&id("m.ortega"), &passphrase(), Cost::STRONG);
    let made = good(made);
    let here = config.path();
    let from = ["-in", "keys/m.ortega.pem", "-passin", "env:HOLDTRACE_TEST_PASSPHRASE"];
    let public = openssl_says(here, &[&["pkey", "-pubout"], &from[..]].concat());
    assert_eq!(public, made.public_key().to_pem());
    let text = openssl_says(here, &["asn1parse", "-in", "keys/m.ortega.pem"]);
    for part in ["PBES2", "1.3.6.1.4.1.11591.4.11", "aes-256-cbc"] {
        assert!(text.contains(part) || part.starts_with('1') && text.contains("scrypt"), "{text}");
    }
    let refused = openssl(here, &["pkey", "-in", "keys/m.ortega.pem", "-passin", "pass:wrong"]);
    assert!(!refused.status.success(), "the key is encrypted");

    write(&here.join("public.pem"), public.as_bytes());
    write(&here.join("message"), b"a day of milk");
    write(&here.join("signature"), &made.sign(b"a day of milk").0);
    let verify = ["pkeyutl", "-verify", "-pubin", "-inkey", "public.pem", "-rawin", "-in"];
    let said = openssl_says(here, &[&verify[..], &["message", "-sigfile", "signature"]].concat());
    assert!(said.contains("Signature Verified Successfully"), "{said}");
    write(&here.join("message"), b"a day of milK");
    let other = openssl(here, &[&verify[..], &["message", "-sigfile", "signature"]].concat());
    assert!(!other.status.success(), "another message");
}

#[test]
fn a_key_made_by_openssl_signs_here() {
    let config = folder();
    let here = config.path();
    let made = new_key(here, "made.here");
    openssl_says(here, &["genpkey", "-algorithm", "ed25519", "-out", "plain.pem"]);
    let encrypt = ["pkcs8", "-topk8", "-in", "plain.pem", "-v2", "aes-256-cbc", "-passout"];
    let encrypt = [&encrypt[..], &["env:HOLDTRACE_TEST_PASSPHRASE", "-out"]].concat();
    openssl_says(here, &[&encrypt[..], &["keys/scrypt.pem", "-scrypt"]].concat());
    openssl_says(here, &[&encrypt[..], &["keys/pbkdf2.pem"]].concat());
    let public = openssl_says(here, &["pkey", "-in", "plain.pem", "-pubout"]);
    let public = good(PublicKey::from_pem(&public));
    assert_ne!(public, made.public_key());

    let keys = KeyFolder::under(here);
    set_mode(&here.join("keys/scrypt.pem"), 0o600);
    set_mode(&here.join("keys/pbkdf2.pem"), 0o600);
    let key = keys.unlock(&id("scrypt"), &passphrase(), stamp(0).instant());
    let key = good(key);
    assert_eq!(key.public_key(), public);
    let error = keys.unlock(&id("pbkdf2"), &passphrase(), seconds(0)).err();
    assert!(matches!(error, Some(Error::KeyDamaged { .. })), "{PASSPHRASE}: {error:?}");
    let fingerprint = key.public_key().fingerprint();
    let der = openssl(here, &["pkey", "-in", "plain.pem", "-pubout", "-outform", "DER"]);
    write(&here.join("public.der"), &der.stdout);
    let said = openssl_says(here, &["dgst", "-sha256", "-r", "public.der"]);
    assert_eq!(said.split(' ').next(), Some(fingerprint.replace(' ', "").as_str()));
}
