//! The contrast of two colours by WCAG 2.2, success criterion 1.4.3 ("contrast ratio" and
//! "relative luminance", definitions of WCAG 2.2).

use egui::Color32;

/// The contrast ratio of two opaque colours, 1 to 21.
pub fn ratio(one: Color32, other: Color32) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

fn luminance(color: Color32) -> f64 {
    let channel = |value: u8| {
        let value = f64::from(value) / 255.0;
        if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * channel(color.r()) + 0.7152 * channel(color.g()) + 0.0722 * channel(color.b())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::theme::ALL;
    use analysis::Rule;

    #[test]
    fn the_extremes_of_the_scale() {
        assert!((ratio(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-9);
        assert!((ratio(Color32::WHITE, Color32::WHITE) - 1.0).abs() < 1e-9);
    }

    /// WCAG 2.2, success criterion 1.4.11: 3 for what must be seen to understand a graphic.
    #[test]
    fn dense_traces_can_be_seen() {
        for theme in [egui::Theme::Light, egui::Theme::Dark] {
            for high_contrast in [false, true] {
                let look = crate::theme::Look::new(theme, high_contrast);
                for rank in 0..4 {
                    let found = ratio(look.dense(rank), look.colors.surface);
                    assert!(found >= 3.0, "{theme:?}, {high_contrast}, {rank}: {found:.2}");
                }
            }
        }
    }

    /// WCAG 2.2 AA: 4.5 for text (1.4.3), 3 for parts of controls and for what must be seen to
    /// understand a graphic (1.4.11).
    #[test]
    fn every_pair_that_is_drawn_passes_aa() {
        for (appearance, colors) in ALL {
            let grounds = [
                ("ground", colors.ground),
                ("surface", colors.surface),
                ("sunken", colors.sunken),
                ("selected", colors.selected),
                ("hovered", colors.hovered),
            ];
            for (ground_name, ground) in grounds {
                let rules = Rule::ALL.iter().map(|rule| (rule.key(), colors.rules[rule.place()]));
                for (name, text) in rules.chain([
                    ("ink", colors.ink),
                    ("ink_soft", colors.ink_soft),
                    ("accent", colors.accent),
                    ("alert", colors.alert),
                ]) {
                    let found = ratio(text, ground);
                    assert!(found >= 4.5, "{appearance}: {name} on {ground_name} is {found:.2}");
                }
                let found = ratio(colors.line_strong, ground);
                assert!(found >= 3.0, "{appearance}: line_strong on {ground_name} is {found:.2}");
            }
            for (name, trace) in
                [("second", colors.second), ("third", colors.third), ("fourth", colors.fourth)]
            {
                let found = ratio(trace, colors.surface);
                assert!(found >= 3.0, "{appearance}: {name} on surface is {found:.2}");
            }
            for (name, text, fill) in [
                ("accent", colors.on_accent, colors.accent),
                ("forward", colors.on_forward, colors.forward),
            ] {
                let found = ratio(text, fill);
                assert!(found >= 4.5, "{appearance}: text on {name} is {found:.2}");
            }
        }
    }
}
