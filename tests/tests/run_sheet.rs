//! A run sheet takes the place of product and lot columns that the logger does not have.

use analysis::{Audit, audit};
use ingest::{Input, Progress, read, read_run_sheet};
use plant::Plant;
use tests::good;
use trace::RunRecord;

const PLANT: &str = r#"
schema = 1
plant = "Example Dairy (invented)"
unit = "HTST-1"
zone = "UTC"
default_product = "milk"
[[products]]
name = "milk"
row = "us-milk-15s"
[[products]]
name = "cream"
row = "us-rich-15s"
"#;

/// Ten minutes of forward flow at 163 °F, 50 gal/min: legal for milk, short for cream.
fn logger_file() -> String {
    let row = |second: u32| {
        // Readings of a line that runs: none stands still.
        let wobble = second % 2;
        format!("2026-03-04 06:{:02}:{:02},FWD,163.{wobble},5.0,50.0\n", second / 60, second % 60)
    };
    let rows: String = (0..600).map(row).collect();
    format!("time,valve,holding temp (°F),differential (psi),flow (gal/min)\n{rows}")
}

fn audited(sheet: &str) -> (RunRecord, Audit) {
    let plant = good(Plant::parse("plant.toml", PLANT));
    let input = Input::Bytes { name: "day.csv".to_owned(), bytes: logger_file().into_bytes() };
    let ingested = good(read(&[input], &plant, &Progress::default()));
    let folder = good(tempfile::tempdir());
    let path = folder.path().join("day.run-sheet.csv");
    if let Err(error) = std::fs::write(&path, sheet) {
        panic!("{error}");
    }
    let sheet = good(read_run_sheet(&path, &plant));
    let record = ingested.record.with_run_sheet(sheet);
    let audit = audit(&record, &plant, ingested.observations);
    (record, audit)
}

fn count(audit: &Audit, kind: &str) -> usize {
    audit.observations.iter().filter(|one| one.kind.key() == kind).count()
}

#[test]
fn the_sheet_names_products_lots_tanks_and_quantities() {
    let (record, audit) = audited(
        "start,end,product,lot,tank,quantity (gal)\n\
         2026-03-04 06:00,2026-03-04 06:05,milk,L1,T1,250\n\
         2026-03-04 06:05,2026-03-04 06:10,cream,L2,T2,240\n",
    );
    let product = |sample| record.product().map(|product| product.word(sample));
    assert_eq!(
        (product(0), product(299), product(300)),
        (Some("milk"), Some("milk"), Some("cream"))
    );
    assert_eq!(count(&audit, "run_sheet_overlap"), 0);
    assert_eq!(count(&audit, "run_sheet_uncovered"), 0);
    // 163 °F is short of cream's 166 °F: one exception, from the first sample of cream on.
    let [short] = audit.exceptions.as_slice() else { panic!("{:?}", audit.exceptions) };
    assert_eq!(short.samples, (300, 599));
    // Its outer interval begins with the last sample of milk, so that lot is held as well.
    assert_eq!((short.lots.join(" "), short.tanks.join(" ")), ("L1 L2".into(), "T1 T2".into()));
    let tanks: Vec<_> =
        audit.product_runs.iter().map(|run| (run.tank.as_str(), run.stated.is_some())).collect();
    assert_eq!(tanks, [("T1", true), ("T2", true)]);
    // Five minutes at 50 gal/min.
    let forward = audit.product_runs[0].forward.unwrap_or_default();
    assert!((forward - 250.0).abs() < 1e-6, "{forward}");
    // What passed: from the sample before the first of cream to the end, 300 s.
    let doubt = audit.lots[0].passed.outer_value.unwrap_or_default();
    assert!((doubt - 250.0).abs() < 1e-6, "{doubt}");
}

#[test]
fn what_no_run_or_two_runs_claim_is_held_to_the_strictest_limit() {
    let (_, audit) = audited(
        "start,end,product,lot\n\
         2026-03-04 06:00,2026-03-04 06:04,milk,L1\n\
         2026-03-04 06:03,2026-03-04 06:08,milk,L2\n",
    );
    assert_eq!(count(&audit, "run_sheet_overlap"), 1);
    assert_eq!(count(&audit, "run_sheet_uncovered"), 1);
    let short: Vec<_> = audit.exceptions.iter().map(|one| one.samples).collect();
    assert_eq!(short, [(180, 239), (480, 599)]);
}
