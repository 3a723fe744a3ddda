//! What several tests share: numbers from a printed seed, and questions put to Python.

#![allow(dead_code, reason = "each test that includes this uses its part")]

use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

use serde::de::DeserializeOwned;

/// Returns the seed, from `LIGULE_SEED` or the usual one, and prints it, so that a failure can be repeated.
pub(crate) fn seed() -> u64 {
    let seed = std::env::var("LIGULE_SEED").map_or(20_261_125, |s| s.parse().expect("LIGULE_SEED is a whole number"));
    println!("LIGULE_SEED={seed}");
    seed
}

/// The numbers of Sebastiano Vigna's SplitMix64: small, and the same everywhere.
pub(crate) struct Random(pub(crate) u64);

impl Random {
    pub(crate) fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Returns a number from 0, included, to 1, not included.
    pub(crate) fn share(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    pub(crate) fn whole(&mut self, low: u64, high: u64) -> u64 {
        low + self.bits() % (high - low + 1)
    }

    /// Returns two independent standard normal numbers, by the method of Box and Muller (1958).
    pub(crate) fn two_normal(&mut self) -> (f64, f64) {
        let radius = (-2.0 * (1.0 - self.share()).ln()).sqrt();
        let (sin, cos) = (std::f64::consts::TAU * self.share()).sin_cos();
        (radius * cos, radius * sin)
    }

    /// Fills a slice with independent normal numbers.
    pub(crate) fn normal(&mut self, into: &mut [f64], mean: f64, sd: f64) {
        for pair in into.chunks_mut(2) {
            let (a, b) = self.two_normal();
            for (to, z) in pair.iter_mut().zip([a, b]) {
                *to = mean + sd * z;
            }
        }
    }
}

/// Puts questions to a script of this folder, as JSON on its standard input, and reads its answers as JSON.
///
/// `LIGULE_PYTHON` names the Python; `cargo xtask test` makes one with the packages of `tests/python/requirements.txt`.
pub(crate) fn ask<T: DeserializeOwned>(script: &str, questions: &serde_json::Value) -> T {
    let python = std::env::var_os("LIGULE_PYTHON").unwrap_or_else(|| {
        panic!(
            "LIGULE_PYTHON is not set: expected the path of a Python with the packages of tests/python/requirements.txt. \
             Run `cargo xtask test`, which makes one, or set it yourself."
        )
    });
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join(script);
    let mut child = Command::new(&python)
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap_or_else(|e| panic!("LIGULE_PYTHON is {}: {e}", python.to_string_lossy()));
    let mut stdin = child.stdin.take().expect("piped");
    stdin.write_all(questions.to_string().as_bytes()).expect("Python reads its input");
    drop(stdin);
    let output = child.wait_with_output().expect("Python ends");
    assert!(output.status.success(), "Python failed; its message is above");
    serde_json::from_slice(&output.stdout).expect("Python answers with JSON of the agreed shape")
}
