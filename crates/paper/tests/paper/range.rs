//! The summary of a range as others see it.

use crate::pages::compare_pages;
use crate::records::{SAMPLES, hostile, people, sample, signed, stamp, subject};
use crate::tools::{Pdf, flat};
use crate::{data, length, pdf, summary};
use case::Case;
use chrono::{DateTime, FixedOffset, NaiveDate};
use daybook::{Entry, Range, Summary};
use journal::Digest;
use paper::{Paper, RangeSummary};
use review::{Decision, Meaning, Reviewed, Role, Scope, Settlement, Stage, Verification};
use std::path::PathBuf;
use tests::good;
use tests::people::{Hand, reviewed};

/// What a hostile hand might write where a person decides.
const WORDS: &str = "#panic(\"no\") *x* $1$ <label> @ref // \u{202E}evil\n= heading";
const LONG: &str = "averyveryverylongwordthatneverendsandgoesonandonbeyondtheedge";

fn entry(name: &str, day: &Case) -> Entry {
    let row = match daybook::Day::new(day) {
        Ok(row) => row,
        Err(error) => panic!("{name}: {error}"),
    };
    Entry {
        record: PathBuf::from(name),
        files: vec![PathBuf::from(name)],
        review: Reviewed::unread(),
        day: Ok(row),
        before: None,
        reviewed: None,
        kept: false,
    }
}

fn samples() -> Vec<Entry> {
    SAMPLES.iter().map(|name| entry(name, &sample(name))).collect()
}

/// A day of 300 exceptions in lots with hostile names, a decision and signatures as hostile, and a
/// record that can't be read.
fn hostiles() -> Vec<Entry> {
    let day = hostile(300);
    let mut one = entry("2026-03-04 =1+1 *x* #a.csv", &day);
    let mut subject = subject(&day);
    subject.shifts.push(LONG.to_owned());
    let settled = subject.exceptions.iter().take(3).map(|item| {
        Decision::Settled(Settlement {
            exception: item.id.clone(),
            cause: WORDS.to_owned(),
            action: LONG.to_owned(),
            disposition: "released".to_owned(),
            disposition_reason: "=1+1".to_owned(),
            ..Settlement::default()
        })
    });
    let signed = Decision::Signed {
        meaning: Meaning::Reviewed,
        scope: Scope::shift(LONG),
        name: format!("{WORDS} {LONG}"),
        role: Role::Technician,
        register: String::new(),
    };
    let (register, [anna, _]) = people();
    let made = settled.chain([signed]).map(|made| (Hand::Wrong(anna), stamp(131), made));
    let state = reviewed(&subject, Some(register), made);
    let unread = Reviewed::unread();
    one.review = Reviewed {
        stage: Stage::ChangedSinceSigning,
        state: Some(state),
        faults: vec![format!("audit: {WORDS} {LONG}")],
        verification: Verification { head: Digest([0xab; 32]), ..unread.verification },
        ..unread
    };
    let mut other = one.clone();
    other.record = PathBuf::from(format!("2026-03-05 {LONG}.csv"));
    other.day = Err(format!("line 1: {WORDS} {LONG}"));
    vec![one, other]
}

fn printed(entries: &[Entry], paper: Paper) -> Pdf {
    let today = NaiveDate::from_ymd_opt(2026, 3, 20).unwrap_or_default();
    let created = DateTime::<FixedOffset>::parse_from_rfc3339("2026-03-20T06:12:00-05:00");
    let summary = good(Summary::new(entries, Range::default(), today));
    let about =
        RangeSummary { summary: &summary, paper, created: created.unwrap_or_default(), books: &[] };
    match paper::range_summary(&about) {
        Ok(bytes) => Pdf::new(bytes),
        Err(error) => panic!("{error}"),
    }
}

#[test]
fn no_word_runs_into_another() {
    for paper in [Paper::A4, Paper::Letter] {
        for entries in [samples(), hostiles()] {
            let pdf = printed(&entries, paper);
            pdf.check();
            assert_eq!(pdf.words_over_each_other(), Vec::<String>::new());
        }
        let hostile = hostile(300);
        let record = pdf(&summary(&hostile, &Reviewed::unread(), paper));
        assert_eq!(record.words_over_each_other(), Vec::<String>::new());
    }
    let day = sample("2026-03-04-stuck-valve.csv");
    let signed = signed(&day, Hand::Key);
    assert_eq!(
        pdf(&summary(&day, &signed, Paper::A4)).words_over_each_other(),
        Vec::<String>::new()
    );
}

#[test]
fn a_range_with_hostile_words_is_printed_letter_by_letter() {
    let pdf = printed(&hostiles(), Paper::Letter);
    let pages = pdf.pages();
    for page in &pages {
        assert!(flat(page).contains("2 RECORDS CHANGED SINCE SIGNING"), "{page}");
    }
    let text = flat(&pages.join("\n"));
    // Beside each exception that is open, and twice in the sums.
    assert_eq!(text.matches("not resolved").count(), 297 + 2);
    for words in [
        "2026-03-04 =1+1 *x* #a.csv",
        "#panic(\"no\") *x* $1$ <label> @ref // [U+202E]evil = heading",
        "released, with reason: =1+1",
        "[U+725B][U+4E73] 7",
        "300, 3 resolved",
        "FAILS: ",
        &"ab".repeat(32),
        case::CAUTION,
    ] {
        assert!(
            text.contains(&flat(words)) || text.replace(' ', "").contains(&words.replace(' ', "")),
            "{words:?} is on paper: {text}"
        );
    }
}

/// A year of bad days has more exceptions than paper or memory hold.
#[test]
fn a_paper_says_what_it_does_not_list() {
    let mut many = entry("2026-03-04.csv", &hostile(300));
    if let Ok(day) = &mut many.day {
        day.exceptions.iter_mut().for_each(|row| row.lots.clear());
        let rows = day.exceptions.clone();
        day.exceptions = rows.iter().cycle().take(2100).cloned().collect();
        day.exceptions[2050].volume.at_most = None;
        day.exceptions[2050].start = "2026-03-04T23:23:23.000-06:00".to_owned();
    }
    let text = flat(&printed(&[many], Paper::A4).pages().join("\n"));
    for words in [
        "Of 2100 exceptions 2000 are listed: those during which the most product passed",
        "The other 100 are counted in all figures",
        "2100, 0 resolved: 2100 temperature",
        "2026-03-04 23:23:23",
    ] {
        assert!(text.contains(words), "{words:?}");
    }
    assert_eq!(text.matches("not resolved").count(), 2000 + 2);

    let day = hostile(600);
    let reviewed = Reviewed::unread();
    let record = data(&summary(&day, &reviewed, Paper::A4));
    assert_eq!(length(&record["exceptions"]), 500);
    assert_eq!(length(&record["runs"]), 500);
    let said = |place: usize| record["unlisted"][place].as_str().unwrap_or_default().to_owned();
    assert!(said(0).starts_with("Of 600 exceptions 500 are listed: those during which the most"));
    assert!(said(1).starts_with("Of 600 runs 500 are listed: those with the most exceptions"));
    assert_eq!(said(2), "", "its ten lots are");
}

#[test]
fn the_pages_of_a_range_look_as_they_did() {
    let entries = samples();
    let pdf = printed(&entries, Paper::A4);
    let text = flat(&pdf.pages().join("\n"));
    assert_eq!(text.matches("plant file plant.toml").count(), 1, "once for all seven");
    for day in entries.iter().filter_map(|entry| entry.day.as_ref().ok()) {
        let plant = day.subject.plant_file.as_ref().map(|file| &file.sha256);
        let digests = day.subject.sources.iter().map(|source| &source.sha256).chain(plant);
        assert!(digests.clone().count() == 2 && digests.into_iter().all(|one| text.contains(one)));
    }
    compare_pages(&pdf, &[(1, "range-1.png"), (2, "range-2.png"), (3, "range-3.png")]);
    let pdf = printed(&hostiles(), Paper::Letter);
    compare_pages(&pdf, &[(1, "range-hostile-1.png"), (2, "range-hostile-2.png")]);
}
