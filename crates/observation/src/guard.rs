//! Turns a panic inside the merge library into an error.

use std::{
    any::Any,
    panic::{AssertUnwindSafe, catch_unwind},
};

/// Runs `act`; a panic inside it becomes its message.
///
/// Whatever `act` was changing must be thrown away when this returns an error.
pub(crate) fn guarded<T>(act: impl FnOnce() -> T) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(act)).map_err(|panic| format!("the merge library gave up: {}", message(&*panic)))
}

fn message(panic: &(dyn Any + Send)) -> &str {
    panic
        .downcast_ref::<&str>()
        .copied()
        .or_else(|| panic.downcast_ref::<String>().map(String::as_str))
        .unwrap_or("no reason given")
}
