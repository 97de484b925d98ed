//! What stands in the plots as it is drawn: the figures beside them, the limits, the signs where a trace leaves its
//! range; and that nothing moves for what comes and goes over the window.

#[expect(dead_code, reason = "its days are samples")]
mod common;
#[expect(dead_code, reason = "a part of a round is enough")]
mod round;

use common::{Setup, Window, open, open_sample, sample, settle};
use egui::accesskit::Role;
use egui::{Key, Modifiers, Pos2, Rect, Shape};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use round::{PASSPHRASE, Place, fill, press, push, shows};
use std::path::PathBuf;

type Outcome = Result<(), Box<dyn std::error::Error>>;

const STUCK: &str = "2026-03-04-stuck-valve.csv";

/// A text on the screen: where it begins, what it says, whether it is cut.
struct Drawn {
    rect: Rect,
    text: String,
    cut: bool,
}

/// All that is painted, without the groups that shapes may stand in.
fn painted(window: &Window) -> Vec<Shape> {
    fn flat(shape: &Shape, all: &mut Vec<Shape>) {
        match shape {
            Shape::Vec(shapes) => shapes.iter().for_each(|shape| flat(shape, all)),
            shape => all.push(shape.clone()),
        }
    }
    let mut all = Vec::new();
    for clipped in &window.output().shapes {
        flat(&clipped.shape, &mut all);
    }
    all
}

fn texts(window: &Window) -> Vec<Drawn> {
    let text = |shape: Shape| match shape {
        Shape::Text(text) => Some(Drawn {
            rect: text.visual_bounding_rect(),
            text: text.galley.text().to_owned(),
            cut: text.galley.elided,
        }),
        _ => None,
    };
    painted(window).into_iter().filter_map(text).collect()
}

/// The plots, from above: their area without the names to the left and the figures to the right.
fn plots(window: &Window) -> Vec<Rect> {
    let whole = window.get_by_label_contains("Plots from ").rect();
    let edges = window.query_all_by(|node| node.role() == Role::Splitter);
    let mut edges: Vec<f32> = edges
        .filter(|node| {
            node.accesskit_node().label().is_some_and(|name| name.starts_with("Height of "))
        })
        .map(|node| node.rect().center().y)
        .collect();
    edges.sort_by(f32::total_cmp);
    let bottom = whole.bottom() - 24.0;
    let tops = std::iter::once(whole.top()).chain(edges.iter().copied());
    let bottoms = edges.iter().copied().chain([bottom]);
    tops.zip(bottoms)
        .map(|(top, bottom)| {
            Rect::from_min_max(Pos2::new(whole.left(), top), Pos2::new(whole.right(), bottom))
        })
        .collect()
}

/// The figures beside a plot that are no limits.
fn figures(texts: &[Drawn], plot: Rect) -> Vec<String> {
    let beside = texts.iter().filter(|one| {
        one.rect.left() > plot.right() && plot.y_range().contains(one.rect.center().y)
    });
    let is_figure = |text: &&Drawn| text.text.replace('\u{2212}', "-").parse::<f64>().is_ok();
    beside.filter(is_figure).map(|one| one.text.clone()).collect()
}

#[test]
fn two_figures_stand_beside_each_plot() {
    for (sample, size) in [(STUCK, (1280.0, 800.0)), ("2026-03-03-clean.csv", (1280.0, 800.0))] {
        let paths = vec![common::sample(sample)];
        let window = open(Setup { paths, size, ..Setup::default() });
        let (plots, texts) = (plots(&window), texts(&window));
        assert_eq!(plots.len(), 4, "{plots:?}");
        for plot in plots {
            let figures = figures(&texts, plot);
            assert!(figures.len() >= 2, "{sample} {plot:?}: {figures:?}");
        }
    }
}

/// In every unit, and where the figure is longer than the room beside the plot.
#[test]
fn a_limit_is_never_shortened() -> Outcome {
    let folder = tempfile::tempdir()?;
    let plant = std::fs::read_to_string(sample("plant.toml"))?;
    let plant = plant.replace("[limits]", "[limits]\ndifferential = \"2.25 psi\"");
    let plant = if plant.contains("2.25") {
        plant
    } else {
        format!("{plant}\n[limits]\ndifferential = \"2.25 psi\"\n")
    };
    std::fs::write(folder.path().join("plant.toml"), plant)?;
    let day = folder.path().join(STUCK);
    std::fs::copy(sample(STUCK), &day)?;
    let mut window = open(Setup { paths: vec![day], ..Setup::default() });
    for _ in 0..2 {
        let plots = plots(&window);
        let right = plots[0].right();
        let found: Vec<Drawn> = texts(&window)
            .into_iter()
            .filter(|one| one.rect.right() > right && one.rect.left() < right + 60.0)
            .filter(|one| {
                [" \u{b0}F", " \u{b0}C", " psi", " kPa"].iter().any(|unit| one.text.ends_with(unit))
            })
            .filter(|one| plots.iter().any(|plot| plot.y_range().contains(one.rect.center().y)))
            .collect();
        assert!(found.len() >= 2, "{:?}", found.iter().map(|one| &one.text).collect::<Vec<_>>());
        for Drawn { rect, text, cut } in found {
            assert!(!cut && rect.right() < right + 58.0, "{text} at {rect:?}");
        }
        window.key_press_modifiers(Modifiers::ALT, Key::T);
        window.key_press_modifiers(Modifiers::ALT, Key::P);
        settle(&mut window);
    }
    Ok(())
}

/// Milk is diverted at first, and colder than what the scale shows.
#[test]
fn an_arrowhead_stands_where_a_trace_leaves_its_range() {
    let window = open_sample(STUCK);
    let plot = plots(&window)[0];
    let heads = painted(&window).into_iter().filter_map(|shape| match shape {
        Shape::Path(path) if path.closed && path.points.len() == 3 => Some(path.points),
        _ => None,
    });
    let at_edge = heads.filter(|points| {
        let tip = points[0];
        plot.x_range().contains(tip.x) && (tip.y - plot.bottom()).abs() < 6.0
    });
    assert!(at_edge.count() > 0, "a trace that runs off looks like one that ends");
}

/// What a list, the plots and the choice of pages take.
fn places(window: &Window) -> Vec<Rect> {
    let nodes = window.query_all_by(|node| {
        matches!(node.role(), Role::Figure | Role::Banner | Role::Row | Role::Tab)
    });
    let nodes = nodes.filter(|node| node.accesskit_node().raw_bounds().is_some());
    nodes.map(|node| node.rect()).collect()
}

#[test]
fn nothing_moves_when_a_message_comes_and_goes() {
    for size in [(1280.0, 800.0), (1024.0, 700.0)] {
        let mut window = open(Setup { paths: vec![sample(STUCK)], size, ..Setup::default() });
        let before = places(&window);
        window.state_mut().open(&[PathBuf::from("tests/data/letter.csv")]);
        // While it is being read as well.
        window.step();
        window.step();
        assert_eq!(places(&window), before);
        settle(&mut window);
        window.get_by_role(Role::Alert);
        let dismiss = window.get_by_label("Dismiss").rect();
        assert!(dismiss.right() < size.0 && dismiss.bottom() < size.1, "{dismiss:?}");
        assert_eq!(places(&window), before);
        window.key_press(Key::Escape);
        settle(&mut window);
        assert_eq!(places(&window), before);
    }
}

/// The field of the form that settles an exception.
fn form(window: &Window) -> Rect {
    window.get_by_role_and_label(Role::TextInput, "Cause").rect()
}

#[test]
fn a_measured_span_leaves_the_form_where_it_is() {
    let place = Place::new();
    let mut window = place.with_signers();
    press(&mut window, Key::N);
    let before = form(&window);
    press(&mut window, Key::M);
    for _ in 0..4 {
        press(&mut window, Key::Period);
    }
    press(&mut window, Key::M);
    assert!(shows(&window, "Measured span"));
    assert_eq!(form(&window), before);
}

/// At the size at which the window opens.
#[test]
fn the_form_stays_in_view_above_a_measured_span() {
    let place = Place::new();
    let mut window = open(Setup { size: (1280.0, 800.0), ..place.setup() });
    round::set_up(&mut window);
    round::enrol(&mut window);
    round::at_work(&mut window, "Anna Example");
    press(&mut window, Key::W);
    let span = texts(&window).into_iter().find(|one| one.text == "Measured span");
    let foot = span.map_or(f32::NAN, |one| one.rect.top());
    for field in ["Cause", "Corrective action"] {
        let field = window.get_by_role_and_label(Role::TextInput, field).rect();
        assert!(field.bottom() < foot, "{field:?} {foot}");
    }
    let pane = 800.0 - form(&window).top();
    assert!(800.0 - foot < 0.5 * pane, "the foot takes most of the pane: {foot}");
}

/// The widest columns give up first.
#[test]
fn no_time_is_cut_at_the_smallest_size() {
    let paths = vec![sample(STUCK)];
    let mut window = open(Setup { paths, size: (1024.0, 700.0), ..Setup::default() });
    let is_time = |text: &str| {
        let text = text.as_bytes();
        text.len() >= 8 && text[2] == b':' && text[5] == b':' && text[0].is_ascii_digit()
    };
    let mut times = 0;
    for key in [Key::Num2, Key::Num3, Key::Num5, Key::Num6] {
        press(&mut window, key);
        for one in texts(&window).into_iter().filter(|one| is_time(&one.text)) {
            times += 1;
            assert!(!one.cut, "{key:?}: {} is cut", one.text);
        }
    }
    assert!(times > 20, "{times}");
}

#[test]
fn required_entries_are_not_cut_beside_free_room() {
    let paths = vec![sample(STUCK)];
    let mut window = open(Setup { paths, size: (2200.0, 1000.0), ..Setup::default() });
    press(&mut window, Key::Num4);
    let rows: Vec<Rect> =
        window.query_all_by(|node| node.role() == Role::Row).map(|node| node.rect()).collect();
    let all = texts(&window);
    let is_inside = |one: &&Drawn| rows.iter().any(|row| row.contains(one.rect.center()));
    let inside: Vec<&Drawn> = all.iter().filter(is_inside).collect();
    assert!(inside.len() > 20, "{}", inside.len());
    for one in inside {
        assert!(!one.cut, "{} is cut", one.text);
    }
}

#[test]
fn each_plot_of_the_process_has_figures_and_times() {
    let mut window = open_sample(STUCK);
    press(&mut window, Key::Num1);
    let all = texts(&window);
    let title = |one: &&Drawn| one.text == "Regeneration efficiency";
    let top = all.iter().find(title).map_or(f32::NAN, |one| one.rect.bottom());
    let below = all.iter().filter(|one| one.rect.top() > top).map(|one| one.text.as_str());
    let below: Vec<&str> = below.collect();
    let is_time = |text: &&&str| text.len() == 5 && text.as_bytes()[2] == b':';
    let ends = |text: &str, unit: &str| {
        let figure = text.strip_suffix(unit).map(|figure| figure.replace('\u{2212}', "-"));
        figure.is_some_and(|figure| figure.trim().parse::<f64>().is_ok())
    };
    // Three plots beside one another.
    assert!(below.iter().filter(is_time).count() >= 6, "{below:?}");
    for unit in ["%", "\u{b0}F", "psi"] {
        assert!(below.iter().filter(|text| ends(text, unit)).count() >= 2, "{unit}: {below:?}");
    }
}

#[test]
fn a_band_has_the_letter_of_its_rule() {
    let mut window = open_sample(STUCK);
    press(&mut window, Key::N);
    let (plots, texts) = (plots(&window), texts(&window));
    let inside = |one: &&Drawn| plots.iter().any(|plot| plot.contains(one.rect.center()));
    assert!(texts.iter().filter(inside).any(|one| one.text == "T"));
}

#[test]
fn the_pane_begins_at_its_top_at_each_choice() {
    let place = Place::new();
    let mut window = open(Setup { size: (1024.0, 560.0), ..place.setup() });
    let hide = |window: &Window| {
        let mut nodes = window.query_all_by_role_and_label(Role::Button, "Hide the exception");
        nodes.next().map(|node| node.rect())
    };
    let close = |window: &Window| hide(window).map_or(f32::NAN, |rect| rect.top());
    press(&mut window, Key::N);
    let top = close(&window);
    for key in [Key::N, Key::P, Key::N, Key::P] {
        let pane = hide(&window).unwrap_or(Rect::NOTHING);
        window.hover_at(pane.center());
        window.event(egui::Event::MouseWheel {
            unit: egui::MouseWheelUnit::Point,
            delta: egui::vec2(0.0, -200.0),
            phase: egui::TouchPhase::Move,
            source: egui::MouseWheelSource::Unknown,
            modifiers: Modifiers::NONE,
        });
        settle(&mut window);
        let scrolled = hide(&window).map(|rect| rect.top());
        assert!(scrolled.is_none_or(|now| now < top - 20.0), "the pane does not scroll");
        press(&mut window, key);
        assert!((close(&window) - top).abs() < 0.5, "{key:?}: {} and not {top}", close(&window));
    }
}

/// The last field of each form takes what is filled in with Enter.
#[test]
fn enter_submits_what_is_filled_in_about_people() {
    let place = Place::new();
    let mut window = place.open();
    window.key_press_modifiers(Modifiers::COMMAND, Key::U);
    settle(&mut window);
    fill(&mut window, "Identifier", "ben");
    fill(&mut window, "Name as it is printed", "Ben Example");
    fill(&mut window, "New passphrase", PASSPHRASE);
    fill(&mut window, "The same passphrase again", "another one");
    press(&mut window, Key::Enter);
    assert!(shows(&window, "the two passphrases are not the same"), "Enter submits");
    push(&mut window, "Close");
}

#[test]
fn a_day_is_opened_from_the_figures_over_the_days() -> Outcome {
    let folder = tempfile::tempdir()?;
    for name in ["2026-03-03-clean.csv", STUCK, "plant.toml"] {
        std::fs::copy(sample(name), folder.path().join(name))?;
    }
    let mut window = open(Setup { paths: vec![folder.path().to_owned()], ..Setup::default() });
    window.get_by_label("Trends").click();
    settle(&mut window);
    let dates: Vec<String> = texts(&window).into_iter().map(|one| one.text).collect();
    assert!(dates.iter().any(|text| text == "3 Mar 2026"), "{dates:?}");
    assert!(dates.iter().any(|text| text == "4 Mar"), "the last date too: {dates:?}");
    let title = |words: &str| {
        let mut found = texts(&window).into_iter().filter(|one| one.text.starts_with(words));
        found.next().map(|one| one.rect).ok_or("a plot")
    };
    // Of the first plot one day is a cross: it is below its limit.
    let own = title("Lowest differential margin")?;
    let plot = Rect::from_min_max(own.left_bottom(), Pos2::new(1260.0, own.bottom() + 150.0));
    // The dots are where the circles are.
    let dots: Vec<Pos2> = painted(&window)
        .into_iter()
        .filter_map(|shape| match shape {
            Shape::Circle(circle) if plot.contains(circle.center) => Some(circle.center),
            _ => None,
        })
        .collect();
    let last =
        dots.iter().copied().max_by(|one, other| one.x.total_cmp(&other.x)).ok_or("a dot")?;
    assert!(last.x > plot.right() - 0.06 * plot.width(), "the plot ends where its data do");
    window.hover_at(last);
    settle(&mut window);
    assert!(shows(&window, "4 March 2026: "));
    window.event(egui::Event::PointerButton {
        pos: last,
        button: egui::PointerButton::Primary,
        pressed: true,
        modifiers: Modifiers::NONE,
    });
    window.event(egui::Event::PointerButton {
        pos: last,
        button: egui::PointerButton::Primary,
        pressed: false,
        modifiers: Modifiers::NONE,
    });
    settle(&mut window);
    assert!(
        window.state().verdict().is_some_and(|text| text.starts_with("2 exceptions")),
        "{:?}",
        window.state().verdict()
    );
    Ok(())
}
