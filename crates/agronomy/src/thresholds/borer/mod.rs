//! European corn borer in corn that carries no Bt trait against it: one formula, several published forms.

mod forms;
mod reckoning;

pub use forms::{BORER_FORMS, BorerForm, Figure};
pub(crate) use forms::{FORM_NAMES, form, tables};
pub use reckoning::{BorerCount, BorerReckoning, borer_reckoning};
