//! Passphrases, wiped from memory when dropped and never shown, and which ones a new key may have.

use crate::error::Error;
use crate::person::SignerId;
use crate::shut::Shut;
use zeroize::Zeroizing;

/// What a signer types to unlock their key. It has neither `Debug` nor `Display`, and no copies.
pub struct Passphrase(Zeroizing<String>, Shut);

impl Passphrase {
    /// The least number of characters of a passphrase for a new key (our choice).
    pub const LEAST: usize = 12;

    /// Takes over what was typed; the text is wiped when the passphrase is dropped.
    pub fn new(text: String) -> Self {
        Self(Zeroizing::new(text), Shut::new())
    }

    /// Whether both say the same.
    pub fn is_same(&self, other: &Self) -> bool {
        *self.0 == *other.0
    }

    pub(crate) fn as_bytes(&self) -> &[u8] {
        self.0.as_bytes()
    }

    /// Whether a new key of `signer` may have it: who has the key file tries the commonest first.
    pub(crate) fn check_new(&self, signer: &SignerId) -> Result<(), Error> {
        let characters = self.0.chars().count();
        if characters < Self::LEAST {
            return Err(Error::ShortPassphrase { characters, least: Self::LEAST });
        }
        let folded = Zeroizing::new(self.0.to_lowercase());
        let letters = Zeroizing::new(folded.chars().collect::<Vec<char>>());
        let why = if repeats(&letters) {
            "repeats itself"
        } else if walks(&letters) {
            "is a row of keys, letters or digits"
        } else if is_common(&letters, signer) {
            "is made of the commonest words, of your identifier, or of digits and signs alone"
        } else {
            return Ok(());
        };
        Err(Error::CommonPassphrase { why })
    }
}

/// The fewest letters beside common words, and the fewest different characters (ours).
const FEWEST: usize = 5;

/// Keys that lie side by side on common keyboards, and the columns down from the digits.
const ROWS: &[&str] = &[
    "1234567890",
    "qwertyuiop",
    "asdfghjkl",
    "zxcvbnm",
    "qwertzuiop",
    "yxcvbnm",
    "azertyuiop",
    "qsdfghjklm",
    "wxcvbn",
    "1qaz",
    "2wsx",
    "3edc",
    "4rfv",
    "5tgb",
    "6yhn",
    "7ujm",
    "!@#$%^&*()",
];

/// Words that passphrases are made of most often, and those that this trade suggests. From memory;
/// the list is our own.
const COMMON: &[&str] = &[
    "abc",
    "access",
    "adidas",
    "admin",
    "administrator",
    "alexander",
    "amanda",
    "andrea",
    "andrew",
    "angel",
    "apple",
    "april",
    "arsenal",
    "ashley",
    "august",
    "austin",
    "autumn",
    "babygirl",
    "bailey",
    "banana",
    "baseball",
    "basketball",
    "batman",
    "butter",
    "buttercup",
    "changeme",
    "charlie",
    "cheese",
    "chelsea",
    "chocolate",
    "computer",
    "cookie",
    "cream",
    "dairy",
    "daniel",
    "december",
    "default",
    "dragon",
    "ferrari",
    "flower",
    "football",
    "forever",
    "freedom",
    "friday",
    "george",
    "guest",
    "hallo",
    "hannah",
    "harley",
    "hello",
    "hockey",
    "holdtrace",
    "htst",
    "hunter",
    "iloveyou",
    "internet",
    "january",
    "jasmine",
    "jennifer",
    "jessica",
    "jordan",
    "joshua",
    "justin",
    "killer",
    "letmein",
    "liverpool",
    "login",
    "london",
    "lovely",
    "loveme",
    "master",
    "matthew",
    "michael",
    "michelle",
    "milk",
    "molkerei",
    "monday",
    "monkey",
    "mustang",
    "november",
    "october",
    "operator",
    "orange",
    "passe",
    "password",
    "passwort",
    "pasteur",
    "pasteurizer",
    "pepper",
    "pokemon",
    "princess",
    "purple",
    "qwerty",
    "qwertz",
    "robert",
    "samsung",
    "saturday",
    "secret",
    "september",
    "shadow",
    "signature",
    "soccer",
    "spring",
    "starwars",
    "summer",
    "sunday",
    "sunshine",
    "superman",
    "supervisor",
    "technician",
    "tesla",
    "thomas",
    "thursday",
    "tigger",
    "trustno",
    "tuesday",
    "user",
    "wednesday",
    "welcome",
    "whatever",
    "winter",
    "yogurt",
];

/// Whether it is one block of characters over and over, or of very few different characters.
fn repeats(letters: &[char]) -> bool {
    let is_period = |period: usize| {
        letters.iter().zip(letters.iter().skip(period)).all(|(one, other)| one == other)
    };
    let different = letters.iter().collect::<std::collections::BTreeSet<_>>().len();
    different < FEWEST || (1..=letters.len() / 2).any(is_period)
}

/// Whether it goes along the alphabet or the keyboard, a third of it or less being turns.
fn walks(letters: &[char]) -> bool {
    let beside = |one: char, other: char| {
        u32::from(one).abs_diff(u32::from(other)) <= 1
            || ROWS.iter().any(|row| {
                let place = |key: char| row.chars().position(|other| other == key);
                place(one).zip(place(other)).is_some_and(|(one, other)| one.abs_diff(other) == 1)
            })
    };
    let pairs = letters.iter().zip(letters.iter().skip(1));
    let turns = pairs.filter(|(one, other)| !beside(**one, **other)).count();
    (turns + 1) * 3 <= letters.len()
}

/// Whether little is left of it beside common words, the signer's identifier, digits and signs.
fn is_common(letters: &[char], signer: &SignerId) -> bool {
    let plain = |letter: &char| match letter {
        '0' => 'o',
        '1' | '!' => 'i',
        '3' => 'e',
        '4' | '@' => 'a',
        '5' | '$' => 's',
        '7' => 't',
        other => *other,
    };
    // As it is, and with digits and signs read as the letters that they look like.
    let read = Zeroizing::new(letters.iter().map(plain).collect::<Vec<char>>());
    let own = signer.as_str().split(['.', '-', '_']).filter(|part| part.len() > 2);
    let words: Vec<&str> = COMMON.iter().copied().chain(own).collect();
    left(letters, &words) < FEWEST || left(&read, &words) < FEWEST
}

/// How many letters are left beside the words.
fn left(letters: &[char], words: &[&str]) -> usize {
    let (mut at, mut left) = (0, 0);
    while let Some(rest) = letters.get(at..).filter(|rest| !rest.is_empty()) {
        let begins = |word: &&&str| {
            let count = word.chars().count();
            rest.get(..count).is_some_and(|head| head.iter().copied().eq(word.chars()))
        };
        let longest = words.iter().filter(begins).map(|word| word.chars().count()).max();
        if let Some(count) = longest {
            at += count;
            continue;
        }
        left += usize::from(rest.first().is_some_and(|letter| letter.is_alphabetic()));
        at += 1;
    }
    left
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(text: &str) -> Option<&'static str> {
        let Ok(signer) = "marta.ortega".parse() else { panic!("an identifier") };
        match Passphrase::new(text.to_owned()).check_new(&signer) {
            Ok(()) => None,
            Err(Error::CommonPassphrase { why }) => Some(why),
            Err(error) => panic!("{text}: {error}"),
        }
    }

    #[test]
    fn common_passphrases_are_refused() {
        for (text, why) in [
            ("aaaaaaaaaaaa", "repeats itself"),
            ("............", "repeats itself"),
            ("abcabcabcabc", "repeats itself"),
            ("abababababab", "repeats itself"),
            ("passwordpassword", "repeats itself"),
            ("Rosenheim-Rosenheim-", "repeats itself"),
            ("112211221122", "repeats itself"),
            ("123456789012", "is a row"),
            ("qwertyuiop12", "is a row"),
            ("QwertyUiopAs", "is a row"),
            ("abcdefghijkl", "is a row"),
            ("987654321098", "is a row"),
            ("1qaz2wsx3edc", "is a row"),
            ("qwertzuiopasdf", "is a row"),
            ("Password1234!", "commonest"),
            ("P4ssw0rd2026", "commonest"),
            ("Welcome2026!!", "commonest"),
            ("Summer2025-Summer2026", "commonest"),
            ("marta.ortega1978", "commonest"),
            ("Ortega14031978", "commonest"),
            ("milkmilkcream7", "commonest"),
            ("holdtrace-admin", "commonest"),
            ("739184620573", "commonest"),
            ("iloveyou monkey", "commonest"),
        ] {
            assert!(
                refused(text).is_some_and(|told| told.contains(why)),
                "{text}: {:?}",
                refused(text)
            );
        }
    }

    #[test]
    fn ordinary_passphrases_are_taken() {
        for text in [
            "correct horse battery",
            "milk is held for long enough",
            "another long passphrase",
            "ärgerlich es",
            "tz7#Kq!v02Lm",
            "zu viel Sahne im Kaffee",
            "rain at 5, boil at 7",
            "vier Kühe und ein Hund",
            "молоко стоит на столе",
        ] {
            assert_eq!(refused(text), None, "{text}");
        }
    }
}
