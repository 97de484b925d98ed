//! The colours of each appearance: the only place in the program with raw colour values.
//!
//! The hues of the rules are those that Okabe and Ito recommend for colour-blind eyes (vermilion,
//! blue, reddish purple, yellow), darkened or lightened until text in them passes WCAG 2.2 AA; a
//! test in `contrast.rs` computes it. No colour means "good": what is well stays in plain ink.

use super::Pattern;
use analysis::Rule;
use egui::Color32;

/// Every colour of one appearance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Colors {
    /// Behind everything.
    pub ground: Color32,
    /// Behind plots and lists.
    pub surface: Color32,
    /// Behind fields and the overview.
    pub sunken: Color32,
    /// Text and the first trace of a plot.
    pub ink: Color32,
    /// Text of second rank.
    pub ink_soft: Color32,
    /// Hairlines.
    pub line: Color32,
    /// Edges of controls.
    pub line_strong: Color32,
    /// Focus, the measured span, the window of the overview.
    pub accent: Color32,
    /// Text on [`Self::accent`].
    pub on_accent: Color32,
    /// Behind what is selected.
    pub selected: Color32,
    /// Behind what the pointer is on.
    pub hovered: Color32,
    /// The second trace of a plot.
    pub second: Color32,
    /// The third trace of a plot.
    pub third: Color32,
    /// The fourth trace of a plot.
    pub fourth: Color32,
    /// The rules, in their order.
    pub rules: [Color32; Rule::ALL.len()],
    /// The valve in forward flow.
    pub forward: Color32,
    /// Text on [`Self::forward`].
    pub on_forward: Color32,
    /// A message that something failed: the bar beside it.
    pub alert: Color32,
    /// Dims what lies below a dialog.
    pub veil: Color32,
}

/// The patterns of the rules, in their order.
pub(super) const RULE_PATTERNS: [Pattern; Rule::ALL.len()] =
    [Pattern::Rising, Pattern::Falling, Pattern::Dots, Pattern::Cross];

const fn rgb(hex: u32) -> Color32 {
    Color32::from_rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

pub(super) const LIGHT: Colors = Colors {
    ground: rgb(0x00ED_EFEC),
    surface: rgb(0x00FC_FCFA),
    sunken: rgb(0x00E2_E6E2),
    ink: rgb(0x0015_2430),
    ink_soft: rgb(0x0046_5663),
    line: rgb(0x00CF_D5D2),
    line_strong: rgb(0x006E_7C86),
    accent: rgb(0x0006_5E76),
    on_accent: rgb(0x00FF_FFFF),
    selected: rgb(0x00CF_E4EA),
    hovered: rgb(0x00E6_EEEE),
    second: rgb(0x0094_6313),
    third: rgb(0x0041_7A8C),
    fourth: rgb(0x0085_5A8E),
    rules: [rgb(0x00A6_3D00), rgb(0x0004_5C9C), rgb(0x008F_2D70), rgb(0x0066_5500)],
    forward: rgb(0x0035_4F5F),
    on_forward: rgb(0x00FF_FFFF),
    alert: rgb(0x00A6_3D00),
    veil: Color32::from_black_alpha(90),
};

pub(super) const DARK: Colors = Colors {
    ground: rgb(0x000F_171D),
    surface: rgb(0x0016_2028),
    sunken: rgb(0x000A_1116),
    ink: rgb(0x00EA_EFF1),
    ink_soft: rgb(0x00A9_B7C0),
    line: rgb(0x002B_3943),
    line_strong: rgb(0x0082_949F),
    accent: rgb(0x0067_C6E0),
    on_accent: rgb(0x0005_222B),
    selected: rgb(0x001D_3F4C),
    hovered: rgb(0x001E_2D36),
    second: rgb(0x00DD_A950),
    third: rgb(0x0078_B9CB),
    fourth: rgb(0x00C7_A0D0),
    rules: [rgb(0x00FF_9B66), rgb(0x0076_BDF5), rgb(0x00EB_9FD3), rgb(0x00E3_CB55)],
    forward: rgb(0x008F_AAB8),
    on_forward: rgb(0x0008_141B),
    alert: rgb(0x00FF_9B66),
    veil: Color32::from_black_alpha(140),
};

pub(super) const LIGHT_HIGH: Colors = Colors {
    ground: rgb(0x00FF_FFFF),
    surface: rgb(0x00FF_FFFF),
    sunken: rgb(0x00F2_F2F2),
    ink: rgb(0x0000_0000),
    ink_soft: rgb(0x001C_1C1C),
    line: rgb(0x0080_8080),
    line_strong: rgb(0x0000_0000),
    accent: rgb(0x0000_3D8F),
    on_accent: rgb(0x00FF_FFFF),
    selected: rgb(0x00C4_DDFF),
    hovered: rgb(0x00E4_EEFA),
    second: rgb(0x006B_4200),
    third: rgb(0x0000_4F63),
    fourth: rgb(0x005A_2468),
    rules: [rgb(0x0082_2C00), rgb(0x0000_4680), rgb(0x0072_1557), rgb(0x004A_3D00)],
    forward: rgb(0x0000_0000),
    on_forward: rgb(0x00FF_FFFF),
    alert: rgb(0x0082_2C00),
    veil: Color32::from_black_alpha(150),
};

pub(super) const DARK_HIGH: Colors = Colors {
    ground: rgb(0x0000_0000),
    surface: rgb(0x0000_0000),
    sunken: rgb(0x0012_1212),
    ink: rgb(0x00FF_FFFF),
    ink_soft: rgb(0x00E6_E6E6),
    line: rgb(0x0080_8080),
    line_strong: rgb(0x00FF_FFFF),
    accent: rgb(0x00FF_E066),
    on_accent: rgb(0x0000_0000),
    selected: rgb(0x003A_3A00),
    hovered: rgb(0x0026_2626),
    second: rgb(0x00FF_C466),
    third: rgb(0x0088_E1F5),
    fourth: rgb(0x00E5_BCEF),
    rules: [rgb(0x00FF_AE85), rgb(0x0099_D2FF), rgb(0x00FF_B8E6), rgb(0x00FF_E97A)],
    forward: rgb(0x00FF_FFFF),
    on_forward: rgb(0x0000_0000),
    alert: rgb(0x00FF_AE85),
    veil: Color32::from_black_alpha(190),
};

/// All appearances by name, for tests that must hold in each.
pub const ALL: [(&str, &Colors); 4] = [
    ("light", &LIGHT),
    ("dark", &DARK),
    ("light, high contrast", &LIGHT_HIGH),
    ("dark, high contrast", &DARK_HIGH),
];
