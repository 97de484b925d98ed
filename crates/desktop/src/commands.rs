//! Every command of the program once, in the order of the menu: where it stands there, where it
//! applies, its key, and the name that menu, tooltips and the searchable list show.

use egui::{Key, KeyboardShortcut, Modifiers};

/// Where a command stands in the menu.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Group {
    /// Files and days.
    Record,
    /// Going through exceptions.
    Find,
    /// Deciding and signing.
    Review,
    /// Time on the screen.
    View,
    /// How things are shown.
    Show,
}

/// What a command acts on; where that is not on the screen the command does nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Whatever is on the screen.
    Anywhere,
    /// The folder that is open.
    Folder,
    /// The day that is open.
    Day,
    /// Two days side by side.
    Comparison,
    /// The review of the day that is open.
    Review,
}

impl Group {
    /// All groups, in order.
    pub const ALL: [Self; 5] = [Self::Record, Self::Find, Self::Review, Self::View, Self::Show];

    /// The heading in the menu.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Record => "Record",
            Self::Find => "Find",
            Self::Review => "Review",
            Self::View => "Time",
            Self::Show => "Show",
        }
    }
}

const CTRL: Modifiers = Modifiers::COMMAND;
const CTRL_SHIFT: Modifiers = Modifiers::COMMAND.plus(Modifiers::SHIFT);
const SHIFT: Modifiers = Modifiers::SHIFT;
const ALT: Modifiers = Modifiers::ALT;
const BARE: Modifiers = Modifiers::NONE;

/// A line of the table.
struct Row {
    group: Group,
    place: Place,
    shortcut: KeyboardShortcut,
    repeats: bool,
    title: &'static str,
    words: &'static str,
}

/// The enum of the commands and what is known of each, from the table below.
macro_rules! commands {
    ($($name:ident: $group:ident, $place:ident, $modifiers:ident $key:ident $($repeats:ident)?, $title:literal, $words:literal;)+) => {
        /// A command.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Command {
            $(#[doc = concat!($title, ".")] $name,)+
        }

        impl Command {
            /// All commands, in the order of the menu.
            pub const ALL: [Self; [$($title),+].len()] = [$(Self::$name),+];

            /// Its line in the table.
            const fn row(self) -> Row {
                match self {
                    $(Self::$name => Row {
                        group: Group::$group,
                        place: Place::$place,
                        shortcut: KeyboardShortcut::new($modifiers, Key::$key),
                        repeats: !stringify!($($repeats)?).is_empty(),
                        title: $title,
                        words: $words,
                    },)+
                }
            }
        }
    };
}

// Behind the name stand the words that people may look for it by, beside those of the name.
commands! {
    Help: Show, Anywhere, BARE F1, "Help with this screen", "legend signs symbols keys shortcuts manual explain what meaning ?";
    OpenFiles: Record, Anywhere, CTRL O, "Open files", "load import read logger record csv";
    OpenFolder: Record, Anywhere, CTRL_SHIFT O, "Open a folder of days", "day log directory register load";
    OpenPlant: Record, Anywhere, CTRL P, "Choose the plant file", "plant.toml limits configuration";
    SetUp: Record, Anywhere, CTRL_SHIFT P, "Set up how these files are read", "columns import mapping new logger zone unit";
    PlantFile: Record, Anywhere, CTRL Comma, "View and edit the plant file", "limits limit edit settings products shifts holding tube certificate configuration";
    SaveSetup: Record, Anywhere, CTRL_SHIFT S, "Save the plant file", "write store plant.toml";
    LeavePlantFile: Record, Anywhere, CTRL W, "Close the plant file", "back leave";
    OpenDemo: Record, Anywhere, CTRL D, "Open the demo", "example sample try training";
    OpenAgain: Record, Anywhere, CTRL R, "Reopen the last record or folder", "reload refresh reopen recent last";
    Cancel: Record, Anywhere, CTRL Period, "Cancel reading", "abort stop loading";
    NextDay: Record, Anywhere, BARE CloseBracket, "Next day", "tomorrow forward record file";
    PreviousDay: Record, Anywhere, BARE OpenBracket, "Previous day", "yesterday before back record file";
    ShowRegister: Record, Folder, BARE Num0, "Day log", "day log calendar overview home back list";
    NextOnList: Record, Folder, BARE J, "Next on the work list", "next work to do open days unread pending oldest review";
    NextMonth: Record, Folder, BARE PageDown repeats, "Next month", "calendar";
    PreviousMonth: Record, Folder, BARE PageUp repeats, "Previous month", "calendar";
    RegisterMonth: Record, Folder, CTRL Num1, "Day log: month", "calendar day log";
    RegisterTrends: Record, Folder, CTRL Num2, "Day log: trends", "drift chart over time history margin";
    RegisterLot: Record, Folder, CTRL Num3, "Day log: trace a lot", "lots recall batch search find product tank";
    RegisterRange: Record, Folder, CTRL Num4, "Day log: range summary", "report quarter month year auditor export print pdf summary";
    RegisterHeld: Record, Folder, CTRL Num5, "Day log: on hold", "holds hold quarantine release tank tag";
    RegisterWork: Record, Folder, CTRL Num6, "Day log: work list", "to do waiting overdue mine approve inbox tasks";
    Quit: Record, Anywhere, CTRL Q, "Close Holdtrace", "exit end leave close window";
    WorstMinute: Find, Day, BARE W, "Worst minute", "lowest least coldest measure";
    NextException: Find, Day, BARE N repeats, "Next exception", "deviation alarm forward";
    PreviousException: Find, Day, BARE P repeats, "Previous exception", "deviation alarm before back";
    ShowExceptions: Find, Day, BARE L, "List exceptions", "deviations alarms table";
    ShowObservations: Find, Day, BARE O, "List observations", "notes remarks warnings table";
    ShowProcess: Find, Day, BARE Num1, "Process over the run", "lethality drift regeneration trend";
    ShowRuns: Find, Day, BARE Num2, "Runs and lots of the day", "lots products tanks quantities run sheet amounts";
    ShowInstruments: Find, Day, BARE Num3, "Instrument checks", "recorder thermometer comparison cut-in cut-out response";
    ShowCompleteness: Find, Day, BARE Num4, "Required entries", "required missing checklist operator items";
    ShowDiverts: Find, Day, BARE Num5, "Diverts with their causes", "diversion fdd cause returned";
    ShowCleanings: Find, Day, BARE Num6, "Cleanings of the day", "cip wash clean";
    Filter: Find, Day, CTRL F, "Filter the list", "search find words";
    FoldEpisodes: Find, Day, BARE G, "Collapse or expand episodes", "collapse expand group";
    Compare: Find, Anywhere, BARE C, "Compare with another day", "two days side by side beside last week same product difference align";
    CommandList: Find, Anywhere, CTRL K, "Commands", "menu search palette";
    NextOpen: Review, Review, SHIFT N repeats, "Next open exception", "unresolved deviation to do next";
    Settlement: Review, Review, BARE T, "Go to the resolution form", "resolve cause corrective action disposition form";
    Settle: Review, Review, CTRL Enter, "Resolve and next", "close save enter resolution finish deviation";
    SettleAsBefore: Review, Review, CTRL B, "Resolve like the previous one", "same again repeat copy alike deviation";
    PickAll: Review, Review, CTRL A, "Select all exceptions", "select all several many alike";
    SendBack: Review, Review, BARE B, "Return with a comment", "return reject comment";
    Acknowledge: Review, Review, CTRL_SHIFT Enter, "Acknowledge observations", "note seen observation";
    EnterNext: Review, Review, BARE I, "Enter next missing entry", "missing required entry items";
    OperatorEntry: Review, Review, CTRL_SHIFT I, "Operators\u{2019} entries: add, sign", "thermometer indicating recorder alarm cut-in cut-out occurrence seal csv initials log";
    TakeBack: Review, Review, CTRL Z, "Undo last decision", "revert withdraw back";
    NextScope: Review, Review, SHIFT S, "Next shift or whole record", "select sign shift";
    Sign: Review, Review, CTRL S, "Sign", "signature approve reviewed supervisor sign-off";
    Reopen: Review, Review, CTRL_SHIFT R, "Reopen what is signed", "unlock change correct signature";
    ReAudit: Review, Review, CTRL_SHIFT A, "Enter the new audit", "changed again recalculate";
    People: Review, Review, CTRL U, "People and keys", "user login who technician supervisor key passphrase password enrol";
    Books: Review, Review, CTRL_SHIFT U, "Register of signers and limits", "approve limits limit seals tests equipment ledger fingerprint signers";
    CorrectClock: Review, Review, CTRL_SHIFT K, "Correct a clock that was ahead", "time wrong date";
    AcceptRegister: Review, Review, CTRL_SHIFT T, "Accept a register of signers", "trust fingerprint signers";
    Verify: Review, Review, CTRL_SHIFT V, "Verify, link by link", "verification check signatures ledger chain digest fingerprint auditor";
    Summary: Review, Review, CTRL E, "Exception summary: PDF, CSV, JSON", "print export report pdf csv json paper save send";
    WholeDay: View, Day, BARE D, "Whole record", "zoom all fit";
    ShowShift: View, Day, BARE S, "Shift", "zoom early late night";
    ShowException: View, Day, BARE E, "Exception", "zoom back to deviation";
    FiveMinutes: View, Day, BARE F, "\u{b1}5 min", "zoom around ten minutes";
    ZoomIn: View, Day, BARE Plus repeats, "Zoom in", "closer magnify larger";
    ZoomOut: View, Day, BARE Minus repeats, "Zoom out", "further smaller wider";
    PanEarlier: View, Day, SHIFT ArrowLeft repeats, "Earlier", "left scroll pan move";
    PanLater: View, Day, SHIFT ArrowRight repeats, "Later", "right scroll pan move";
    SampleEarlier: View, Day, BARE Comma repeats, "Crosshair one sample earlier", "left cursor reading previous";
    SampleLater: View, Day, BARE Period repeats, "Crosshair one sample later", "right cursor reading next";
    NextProduct: View, Comparison, SHIFT P, "Next product", "two days compare align";
    Measure: View, Day, BARE M, "Start or end a measurement", "span mean least greatest volume ruler duration";
    ClearMeasure: View, Day, SHIFT M, "Clear the measured span", "delete span";
    TemperatureUnit: Show, Anywhere, ALT T, "Temperatures in \u{b0}F or \u{b0}C", "fahrenheit celsius units degrees";
    PressureUnit: Show, Anywhere, ALT P, "Pressures in psi or kPa", "units";
    Appearance: Show, Anywhere, ALT L, "Theme: system, light or dark", "theme dark light night colors";
    HighContrast: Show, Anywhere, ALT H, "High contrast", "theme accessibility colors";
    SidePane: Show, Anywhere, BARE R, "Show or hide the right pane", "panel sidebar details hide";
    TallList: Show, Day, SHIFT L, "Show or hide the plots", "maximize larger list more rows hide plots";
    FoldHolding: Show, Day, ALT Num1, "Collapse plot: holding tube", "chart curve temperature collapse";
    FoldDifferential: Show, Day, ALT Num2, "Collapse plot: differential", "chart curve pressure collapse";
    FoldPressures: Show, Day, ALT Num3, "Collapse plot: regenerator", "chart curve pressure collapse";
    FoldFlow: Show, Day, ALT Num4, "Collapse plot: flow", "chart curve meter collapse";
    FoldResidence: Show, Day, ALT Num5, "Collapse plot: residence time", "chart curve time collapse";
    FoldProcess: Show, Day, ALT Num6, "Collapse plot: process", "chart curve cooled raw collapse";
    CopyMessage: Show, Anywhere, CTRL_SHIFT C, "Copy the message", "error clipboard";
    DismissMessage: Show, Anywhere, BARE Escape, "Dismiss the message", "close hide error escape release";
}

impl Command {
    /// Where it stands in the menu.
    pub const fn group(self) -> Group {
        self.row().group
    }

    /// What it acts on.
    pub const fn place(self) -> Place {
        self.row().place
    }

    /// The name in menu, tooltip and command list.
    pub const fn title(self) -> &'static str {
        self.row().title
    }

    /// Whether it is what was looked for: each word begins one of its own, or stands in its name.
    pub fn is_meant_by(self, text: &str) -> bool {
        let text = text.to_lowercase();
        let row = self.row();
        let name = format!("{} {}", row.title, row.group.title()).to_lowercase();
        let begins = |word: &str| row.words.split_whitespace().any(|own| own.starts_with(word));
        text.split_whitespace().all(|word| name.contains(word) || begins(word))
    }

    /// The key.
    const fn shortcut(self) -> KeyboardShortcut {
        self.row().shortcut
    }

    /// The key as it is printed, such as `Ctrl+O`.
    pub fn key_text(self, context: &egui::Context) -> String {
        let shortcut = self.shortcut();
        let name = shortcut.logical_key.name();
        let sign = match shortcut.logical_key {
            Key::OpenBracket => "[",
            Key::CloseBracket => "]",
            Key::Plus => "+",
            Key::Minus => "\u{2212}",
            Key::Comma => "comma",
            Key::Period => "full stop",
            Key::ArrowLeft => "\u{2190}",
            Key::ArrowRight => "\u{2192}",
            Key::Escape => "Esc",
            Key::PageDown => "Page down",
            Key::PageUp => "Page up",
            _ => name,
        };
        let text = context.format_shortcut(&shortcut);
        match text.strip_suffix(name) {
            Some(modifiers) => format!("{modifiers}{sign}"),
            None => text,
        }
    }

    /// Whether its key is taken while a text is typed: one without Ctrl or Alt is part of the text, and a
    /// field has an undoing and a choosing of all of its own.
    const fn is_taken_from_fields(self) -> bool {
        let modifiers = self.shortcut().modifiers;
        let is_text = !modifiers.command && !modifiers.alt && !matches!(self, Self::Help);
        !is_text && !matches!(self, Self::TakeBack | Self::PickAll)
    }

    /// Takes the commands whose keys were pressed out of the input. Keys without Ctrl belong to
    /// the text field while one has the focus.
    pub fn pressed(context: &egui::Context) -> Vec<Self> {
        let typing = context.text_edit_focused();
        context.input_mut(|input| {
            let mut pressed = Vec::new();
            input.events.retain(|event| {
                let egui::Event::Key { key, modifiers, pressed: true, repeat, .. } = event else {
                    return true;
                };
                // Plus is Shift+= on many keyboards, and the layout decides about the Shift, as it does about
                // that of the question mark.
                let key = if *key == Key::Equals { Key::Plus } else { *key };
                if key == Key::Questionmark && !typing && !modifiers.command && !modifiers.alt {
                    pressed.push(Self::Help);
                    return false;
                }
                let found = Self::ALL.into_iter().find(|command| {
                    let shortcut = command.shortcut();
                    let matches = if key == Key::Plus {
                        !modifiers.command && !modifiers.alt
                    } else {
                        modifiers.matches_exact(shortcut.modifiers)
                    };
                    shortcut.logical_key == key
                        && matches
                        && (!typing || command.is_taken_from_fields())
                        && (!repeat || command.row().repeats)
                });
                pressed.extend(found);
                found.is_none()
            });
            pressed
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What enters something in a journal, or is kept for good, is no letter that may be typed beside a
    /// field.
    #[test]
    fn no_plain_letter_writes() {
        let writes = [
            Command::Settle,
            Command::SettleAsBefore,
            Command::Acknowledge,
            Command::TakeBack,
            Command::Sign,
            Command::Reopen,
            Command::ReAudit,
            Command::CorrectClock,
            Command::SaveSetup,
            Command::TemperatureUnit,
            Command::PressureUnit,
            Command::Appearance,
            Command::HighContrast,
        ];
        for command in writes {
            let modifiers = command.shortcut().modifiers;
            assert!(modifiers.command || modifiers.alt, "{command:?}");
        }
    }

    #[test]
    fn every_command_is_listed_once_and_no_key_twice() {
        for (index, command) in Command::ALL.into_iter().enumerate() {
            for other in &Command::ALL[index + 1..] {
                assert_ne!(command, *other);
                assert_ne!(command.shortcut(), other.shortcut(), "{command:?} and {other:?}");
                assert_ne!(command.title(), other.title());
            }
        }
    }
}
