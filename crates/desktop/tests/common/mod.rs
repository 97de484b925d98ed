//! A window without a screen, driven by the accessible names of what is in it.

use desktop::{App, Chooser, Clock, DiskClock, Opener, Start, Surroundings};
use egui_kittest::Harness;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;
use std::time::{Duration, Instant};

pub type Window = Harness<'static, App>;

/// How the window is set up.
pub struct Setup {
    pub paths: Vec<PathBuf>,
    pub settings: Option<PathBuf>,
    pub config: Option<PathBuf>,
    pub clock: Clock,
    pub disk_clock: DiskClock,
    pub chooser: Chooser,
    pub opener: Opener,
    pub size: (f32, f32),
    pub scale: f32,
    /// How long a frame takes, in seconds.
    pub frame: f32,
}

/// 2026-03-15, 06:12 in Chicago.
pub const MORNING: i64 = 1_773_573_120_000;

impl Default for Setup {
    fn default() -> Self {
        Self {
            paths: Vec::new(),
            settings: None,
            config: None,
            clock: Clock(|| trace::Instant::from_unix_milliseconds(MORNING)),
            disk_clock: DiskClock(|_| None),
            chooser: Chooser::default(),
            opener: Opener::default(),
            size: (1280.0, 800.0),
            scale: 1.0,
            frame: 0.25,
        }
    }
}

/// A file of the sample runs; without a name their folder.
pub fn sample(name: &str) -> PathBuf {
    static FOLDER: LazyLock<PathBuf> = LazyLock::new(|| {
        match simulate::write_sample_runs(Path::new(env!("CARGO_TARGET_TMPDIR"))) {
            Ok(folder) => folder,
            Err(error) => panic!("{error}"),
        }
    });
    FOLDER.join(name)
}

/// Opens the window and waits until all that was asked for is read.
pub fn open(setup: Setup) -> Window {
    let Setup { paths, settings, config, clock, disk_clock, chooser, opener, size, scale, frame } =
        setup;
    let start = Start { paths, plant: None };
    let demo = Some(sample(""));
    let own = Surroundings { chooser, opener, ..Surroundings::default() };
    let surroundings = Surroundings { settings, demo, config, clock, disk_clock, ..own };
    let mut window = Harness::builder()
        .with_size(size)
        .with_pixels_per_point(scale)
        .with_step_dt(frame)
        .with_os(egui::os::OperatingSystem::Nix)
        .build_eframe(|creation| App::new(&creation.egui_ctx, start, surroundings));
    settle(&mut window);
    window
}

/// Waits until nothing is being read and nothing moves. Keys that waited may begin work of their own, such as
/// a key that is unlocked, and a dialog may have some as well.
pub fn settle(window: &mut Window) {
    let begin = Instant::now();
    window.step();
    loop {
        let moving = window.try_run().err();
        if moving.is_none() && !window.state().is_reading() && !window.state().is_working() {
            return;
        }
        assert!(begin.elapsed() < Duration::from_mins(2), "it takes for ever: {moving:?}");
        std::thread::sleep(Duration::from_millis(5));
        window.step();
    }
}

/// Opens one sample run.
pub fn open_sample(name: &str) -> Window {
    open(Setup { paths: vec![sample(name)], ..Setup::default() })
}

/// Writes an invented day with very many exceptions and gives its path.
pub fn busy_day(folder: &Path) -> PathBuf {
    // What the line makes has to be said, or the strictest limit holds.
    let plant = "schema = 1\nplant = \"Example Dairy (invented)\"\nunit = \"HTST-1\"\nzone = \"UTC\"\n\
                 [[products]]\nname = \"whole milk\"\nrow = \"us-milk-15s\"\n\
                 [[products]]\nname = \"skimmed milk\"\nrow = \"us-milk-15s\"\n";
    assert!(std::fs::write(folder.join("plant.toml"), plant).is_ok(), "the plant file");
    let mut text = String::from(
        "time,valve,holding_temperature (°F),recorder_temperature (°F),raw_pressure (psi),\
         pasteurized_pressure (psi),flow_rate (gal/min),product,lot\n",
    );
    for second in 0..28_800_u32 {
        let (hour, minute, rest) = (6 + second / 3600, second / 60 % 60, second % 60);
        let wave = second % 17;
        let valve = if second < 300 || (14_000..14_120).contains(&second) { "DIV" } else { "FWD" };
        let short = second % 190 < 4 + second / 6000 && second > 2000;
        let tenths = if short { 1604 - second % 5 } else { 1625 + wave % 6 };
        let temperature = match second {
            9000..9040 => "OPEN".to_owned(),
            _ => format!("{}.{}", tenths / 10, tenths % 10),
        };
        let raw = if second % 1111 < 9 && second > 5000 { 205 } else { 120 + wave % 4 };
        let (product, lot) =
            if second < 16_000 { ("whole milk", "A-01") } else { ("skimmed milk", "B-07") };
        // Writing to a string can't fail.
        writeln!(
            text,
            "2026-05-04 {hour:02}:{minute:02}:{rest:02},{valve},{temperature},{}.{},{}.{},21.{},\
             50.{},{product},{lot}",
            (tenths - 4) / 10,
            (tenths - 4) % 10,
            raw / 10,
            raw % 10,
            wave % 7,
            wave % 9,
        )
        .unwrap_or_default();
    }
    let path = folder.join("2026-05-04-busy.csv");
    if let Err(error) = std::fs::write(&path, text) {
        panic!("{}: {error}", path.display());
    }
    path
}

/// Writes an hour as a control system exports it by its tags: two thermometers that read alike, two
/// pressures that move together, a device at 0 or 1. Invented.
pub fn tags(folder: &Path, date: &str) -> PathBuf {
    let mut text = "Timestamp,TT204A,TT204B,PT201,PT202,ZS204\n".to_owned();
    for second in 0..3600_u32 {
        let swing = (f64::from(second) / 40.0).sin();
        let short = (1800..1830).contains(&second);
        let held = if short { 160.2 } else { 163.4 + swing / 2.0 };
        // Writing to a string can't fail.
        writeln!(
            text,
            "{date} 04:{:02}:{:02},{held:.1},{:.1},{:.2},{:.2},{}",
            second / 60,
            second % 60,
            held - 0.3,
            21.0 + 0.8 * swing,
            26.5 + 0.9 * swing,
            u8::from(second > 300),
        )
        .unwrap_or_default();
    }
    let path = folder.join("tags.csv");
    if let Err(error) = std::fs::write(&path, text) {
        panic!("{}: {error}", path.display());
    }
    path
}
