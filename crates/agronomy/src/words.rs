//! Enums that people choose from by a word.

/// Gives an enum its words: `ALL`, `WORDS`, `word()` and reading a word back.
///
/// `$what` says in the error what the word was to name.
macro_rules! words {
    ($name:ident, $what:literal, { $($variant:ident => $word:literal),+ $(,)? }) => {
        impl $name {
            /// Every one, in order.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];
            /// What they are called, in the same order.
            pub const WORDS: &'static [&'static str] = &[$($word),+];

            /// Returns the word by which it is called.
            pub const fn word(self) -> &'static str {
                match self {
                    $(Self::$variant => $word),+
                }
            }
        }

        impl std::str::FromStr for $name {
            type Err = crate::error::Error;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                let found = Self::ALL.iter().find(|one| one.word().eq_ignore_ascii_case(text.trim()));
                found.copied().ok_or_else(|| crate::error::Error::UnknownWord {
                    input: $what,
                    expected: Self::WORDS.join(", "),
                    came: text.to_owned(),
                })
            }
        }
    };
}
