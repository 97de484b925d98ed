//! The work list: what waits for whom across pasteurizers, gone through with keys alone, and a signing page
//! that begins with what its reader is there for.

#[expect(dead_code, reason = "a review brings its own record")]
mod common;
mod round;

use common::{Setup, Window, open, settle};
use egui::accesskit::Role;
use egui::{Event, Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use journal::Stamp;
use round::{
    PASSPHRASE, Place, all_but_signing, at_work, command, focused, press, review, shows, sign,
};
use signers::{Enrolment, KeyFolder, Passphrase, RegisterFile, UnlockedKey};

/// What the rows of the work list say, in order.
fn rows(window: &Window) -> Vec<String> {
    let rows = window.query_all_by(|node| node.role() == Role::Row);
    rows.filter_map(|node| node.accesskit_node().label()).collect()
}

/// A second pasteurizer of the same two people, in a folder of its own, with a record.
fn second_pasteurizer(place: &Place, date: &str) {
    let folder = place.path("htst-2");
    assert!(std::fs::create_dir(&folder).is_ok(), "a folder for it");
    place.write("htst-2/plant.toml", &place.read("plant.toml").replace("HTST-1", "HTST-2"));
    place.write(&format!("htst-2/{date}.csv"), &round::record(4).replace("2026-03-14", date));
    let now = trace::Instant::from_unix_milliseconds(common::MORNING);
    let at = Stamp::new(now, 0).unwrap_or_else(|| panic!("a stamp"));
    let [anna, ben] = ["anna", "ben"].map(|who| key_of(place, who, now));
    let Ok((mut register, _)) = RegisterFile::open(&folder.join("signers.jsonl")) else {
        panic!("a register")
    };
    let enrolment = Enrolment {
        signer: anna.signer().clone(),
        name: "Anna Example (invented)".to_owned(),
        role: signers::Role::Technician,
        public_key: anna.public_key(),
    };
    let Ok(plant) = plant::Plant::read(&folder.join("plant.toml")) else { panic!("a plant") };
    let Some(file) = plant.file else { panic!("a plant file") };
    let sha256 = journal::Digest(file.sha256).to_string();
    let begun = register
        .found("Ben Example (invented)", &ben, at)
        .and_then(|()| register.enrol(enrolment, &ben, at))
        .and_then(|()| register.approve_plant_file("plant.toml", &sha256, &ben, at));
    assert!(begun.is_ok(), "{begun:?}");
}

fn key_of(place: &Place, who: &str, now: trace::Instant) -> UnlockedKey {
    let keys = KeyFolder::under(&place.path("config"));
    let Ok(signer) = who.parse() else { panic!("{who} is an identifier") };
    let key = keys.unlock(&signer, &Passphrase::new(PASSPHRASE.to_owned()), now);
    key.unwrap_or_else(|why| panic!("{who}: {why}"))
}

/// The folder of a plant with two pasteurizers, a record of each, and two people, of whom Anna is at work.
fn two_pasteurizers(size: (f32, f32), frame: f32) -> (Place, Window) {
    let place = Place::new();
    drop(place.with_signers());
    second_pasteurizer(&place, "2026-03-13");
    let paths = vec![place.folder.path().to_owned()];
    let window = open(Setup { paths, size, frame, ..place.setup() });
    (place, window)
}

fn is_open(window: &Window, record: &str) -> bool {
    window.state().verdict().is_some() && shows(window, record)
}

#[test]
fn the_list_is_gone_through_with_keys_from_a_review_to_the_last_approval() {
    let (_place, mut window) = two_pasteurizers((1280.0, 800.0), 0.25);
    assert!(shows(&window, "2 of 2 records to review"));
    command(&mut window, Key::Num6);
    assert!(shows(&window, "2 of 2 are for you, Anna Example (invented)"));
    let found = rows(&window);
    assert_eq!(found.len(), 2, "{found:?}");
    let first = "For you, Status to review, Date 2026-03-13, Pasteurizer HTST-2, Scope whole record, Review \
                 due 2026-03-24, Done so far 0 of 2 exceptions resolved";
    assert_eq!(found[0], first);
    // The first row has the keyboard.
    press(&mut window, Key::Enter);
    assert!(is_open(&window, "2026-03-13.csv") && !shows(&window, "Next: "));
    // The key goes on through the list, and round.
    press(&mut window, Key::J);
    assert!(is_open(&window, "2026-03-14.csv"));
    press(&mut window, Key::J);
    assert!(is_open(&window, "2026-03-13.csv"));
    all_but_signing(&mut window);
    sign(&mut window, "anna", PASSPHRASE);
    assert!(shows(&window, "Next: 14 March, HTST-1 \u{b7} 1 left"));
    press(&mut window, Key::J);
    assert!(is_open(&window, "2026-03-14.csv") && !shows(&window, "Next: "));
    all_but_signing(&mut window);
    sign(&mut window, "anna", PASSPHRASE);
    assert!(shows(&window, "Nothing else is waiting for you"));

    at_work(&mut window, "Ben Example");
    command(&mut window, Key::S);
    assert!(shows(&window, "approved: the review was checked"));
    assert_eq!(focused(&window), "Your identifier");
    press(&mut window, Key::Escape);
    press(&mut window, Key::Num0);
    assert!(shows(&window, "Nothing left to review in 2 records, 2 to approve"));
    command(&mut window, Key::Num6);
    let found = rows(&window);
    assert!(found[0].starts_with("For you, Status to approve, Date 2026-03-13"), "{found:?}");
    assert!(found[0].contains("reviewed by Anna Example (invented), 2026-03-1"), "{found:?}");
    press(&mut window, Key::J);
    assert!(is_open(&window, "2026-03-13.csv"));
    sign(&mut window, "ben", PASSPHRASE);
    assert_eq!(review(&window), "signed");
    assert!(shows(&window, "Next: 14 March, HTST-1 \u{b7} 1 left"));
    press(&mut window, Key::J);
    sign(&mut window, "ben", PASSPHRASE);
    assert_eq!(review(&window), "signed");
    assert!(shows(&window, "Nothing else is waiting for you"));
    press(&mut window, Key::J);
    assert!(shows(&window, "The work list (Ctrl+6) shows what is waiting for whom"));
    press(&mut window, Key::Num0);
    assert!(shows(
        &window,
        "Nothing is waiting for you, Ben Example (invented); 0 waiting for others."
    ));
}

/// A key that is pressed and let go.
fn key(key: Key, modifiers: Modifiers) -> Vec<Event> {
    let event = |pressed| Event::Key { key, physical_key: None, pressed, repeat: false, modifiers };
    vec![event(true), event(false)]
}

fn plain(name: Key) -> Vec<Event> {
    key(name, Modifiers::NONE)
}

/// The events of a text, a letter each, as a window system gives them.
fn typed(text: &str) -> Vec<Vec<Event>> {
    let letter = |character: char| {
        let name = Key::from_name(&character.to_uppercase().to_string());
        let name = if character == ' ' { Some(Key::Space) } else { name };
        let mut events: Vec<Event> = name.map(plain).into_iter().flatten().collect();
        // The text comes with the press.
        events.insert(events.len().min(1), Event::Text(character.to_string()));
        events
    };
    text.chars().map(letter).collect()
}

/// Somebody types on, ten keys a second, while a frame takes 300 ms: three keys a frame.
fn type_on(window: &mut Window, keys: &[Vec<Event>]) {
    for frame in keys.chunks(3) {
        window.input_mut().events.extend(frame.iter().flatten().cloned());
        window.step();
    }
    settle(window);
}

/// Opens the signing page and signs, without a look at whether it asks for anything yet: it does not, until it
/// is known which record came before.
fn signature(who: &str) -> Vec<Vec<Event>> {
    let mut keys = vec![key(Key::S, Modifiers::COMMAND)];
    keys.extend(typed(who));
    keys.push(plain(Key::Tab));
    keys.extend(typed(PASSPHRASE));
    keys.push(plain(Key::Enter));
    keys
}

/// The same round where a frame takes 300 ms: what is typed lands where it was typed for.
#[test]
fn the_list_is_gone_through_at_three_frames_a_second() {
    let (_place, mut window) = two_pasteurizers((1280.0, 800.0), 0.3);
    let shift = Modifiers { shift: true, ..Modifiers::COMMAND };
    let enter = || plain(Key::Enter);
    let settled = || {
        let mut keys = typed("tsteam");
        keys.extend([plain(Key::Tab)]);
        keys.extend(typed("valve freed"));
        keys.extend([plain(Key::Tab)]);
        keys.extend(typed("destroyed"));
        keys.push(key(Key::Enter, Modifiers::COMMAND));
        keys
    };
    for (who, record) in [("anna", "2026-03-13.csv"), ("anna", "2026-03-14.csv")] {
        type_on(&mut window, &typed("j"));
        assert!(is_open(&window, record), "{record}");
        type_on(&mut window, &settled());
        // The form of the next one has the keyboard already.
        type_on(&mut window, &settled()[1..]);
        assert!(shows(&window, "2 of 2 resolved"));
        type_on(&mut window, &vec![key(Key::Enter, shift); 6]);
        let entry = [typed("i"), typed("none"), vec![enter()]].concat();
        type_on(&mut window, &entry);
        type_on(&mut window, &signature(who));
        assert_eq!(review(&window), "reviewed", "{record}");
    }
    assert!(shows(&window, "Nothing else is waiting for you"));
    at_work(&mut window, "Ben Example");
    for record in ["2026-03-14.csv", "2026-03-13.csv"] {
        assert!(is_open(&window, record), "{record}");
        type_on(&mut window, &signature("ben"));
        assert_eq!(review(&window), "signed", "{record}");
        type_on(&mut window, &typed("j"));
    }
}

/// A supervisor's signing page signs nothing as reviewer that nobody asked it for.
#[test]
fn a_supervisor_approves_what_is_reviewed_and_reviews_nothing_by_default() {
    let place = Place::new();
    let late = "[[shifts]]\nname = \"late\"\nstart = \"06:02\"\nend = \"20:00\"\n\n[completeness]";
    let plant = place.read("plant.toml").replace("12:00", "06:02").replace("[completeness]", late);
    place.write("plant.toml", &plant);
    let mut window = place.with_signers();
    at_work(&mut window, "Ben Example");
    command(&mut window, Key::S);
    assert!(shows(&window, "Nothing in this record is signed as reviewed yet"));
    assert!(window.query_by_label("Passphrase").is_none(), "nothing can be signed at once");
    press(&mut window, Key::Escape);
    // Of a shift that is reviewed the page begins with that shift.
    at_work(&mut window, "Anna Example");
    all_but_signing(&mut window);
    window.key_press_modifiers(Modifiers::SHIFT, Key::S);
    settle(&mut window);
    sign(&mut window, "anna", PASSPHRASE);
    assert_eq!(review(&window), "being reviewed; reviewed: early");
    at_work(&mut window, "Ben Example");
    // The whole record is chosen now, and nobody has reviewed it.
    window.key_press_modifiers(Modifiers::SHIFT, Key::S);
    settle(&mut window);
    command(&mut window, Key::S);
    assert!(shows(&window, "approved: the review was checked"));
    assert!(shows(&window, "the shift \u{201c}early\u{201d}"));
    round::prove(&mut window, "ben", PASSPHRASE);
    assert_eq!(review(&window), "being reviewed; approved: early");
    // The rest is not reviewed, and the page does not offer to do that.
    window.key_press_modifiers(Modifiers::SHIFT, Key::S);
    settle(&mut window);
    command(&mut window, Key::S);
    assert!(shows(&window, "Nothing in this record is signed as reviewed yet"));
    // Who wants to review says so.
    round::push(&mut window, "as reviewed");
    assert!(shows(&window, "reviewed: everything in it was examined"));
}
