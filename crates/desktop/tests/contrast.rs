//! Contrast by WCAG 2.2, level AA, where colours lie over one another: 4.5 to 1 for text (success
//! criterion 1.4.3), 3 to 1 for what a graphic can't be understood without (1.4.11). Plain pairs
//! of text and background are computed in `src/theme/contrast.rs`.

use desktop::theme::{ALL, ratio};
use egui::Color32;

/// `over` with an opacity of `share`, on an opaque `ground`.
fn over(ground: Color32, over: Color32, share: f32) -> Color32 {
    let mix = |one: u8, other: u8| {
        (f32::from(one) * (1.0 - share) + f32::from(other) * share).round() as u8
    };
    let [r, g, b, _] = ground.to_array();
    let [or, og, ob, _] = over.to_array();
    Color32::from_rgb(mix(r, or), mix(g, og), mix(b, ob))
}

#[test]
fn traces_and_limits_are_seen_through_the_bands() {
    for (appearance, colors) in ALL {
        for rule in colors.rules {
            // The tints of outer bound, observed band and foreign plot: `day/bands.rs`.
            for share in [0.06, 0.11, 0.16] {
                let ground = over(colors.surface, rule, share);
                for trace in [colors.ink, colors.second, colors.third, colors.fourth] {
                    let found = ratio(trace, ground);
                    assert!(
                        found >= 3.0,
                        "{appearance}: {trace:?} on {rule:?} {share}: {found:.2}"
                    );
                }
                let found = ratio(rule, ground);
                assert!(found >= 3.0, "{appearance}: limit {rule:?} on {share}: {found:.2}");
            }
        }
        // The measured span.
        let ground = over(colors.surface, colors.accent, 0.10);
        for part in [colors.ink, colors.second, colors.third, colors.fourth, colors.accent] {
            let found = ratio(part, ground);
            assert!(found >= 3.0, "{appearance}: {part:?} in the measured span: {found:.2}");
        }
    }
}

#[test]
fn a_button_under_the_pointer_is_read() {
    for (appearance, colors) in ALL {
        for ground in [colors.ground, colors.surface] {
            let fill = over(ground, colors.accent, 0.88);
            let found = ratio(colors.on_accent, fill);
            assert!(found >= 4.5, "{appearance}: {found:.2}");
        }
    }
}

#[test]
fn the_focus_ring_is_seen_on_every_ground() {
    for (appearance, colors) in ALL {
        let grounds = [colors.ground, colors.surface, colors.sunken, colors.selected];
        for ground in grounds {
            let found = ratio(colors.accent, ground);
            assert!(found >= 3.0, "{appearance}: {found:.2}");
        }
    }
}

#[test]
fn rules_are_told_apart_in_grey_by_more_than_their_color() {
    // Colours of rules may be equally light; what tells them apart in grey is the pattern.
    let rules = analysis::Rule::ALL;
    for (index, &one) in rules.iter().enumerate() {
        for &other in rules.iter().skip(index + 1) {
            let patterns = (desktop::theme::rule_pattern(one), desktop::theme::rule_pattern(other));
            assert_ne!(patterns.0, patterns.1, "{one:?} and {other:?}");
        }
    }
}
