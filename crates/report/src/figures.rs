//! How urgent a finding is, as a shape; the shapes differ in outline, so that no colour is needed.

use ligule_engine::assess::Severity;

/// Returns the shape: a barred square, a full wedge, a ring with a dot, an open ring.
pub(crate) fn mark(severity: Severity) -> String {
    let inside = match severity {
        Severity::Stop => {
            r##"<rect x="2" y="2" width="20" height="20" fill="#1c201e"/><rect x="6" y="10" width="12" height="4" fill="#fff"/>"##
        }
        Severity::Act => r##"<path d="M12 2 L22 21 L2 21 Z" fill="#1c201e"/>"##,
        Severity::Watch => {
            r##"<circle cx="12" cy="12" r="9.5" fill="none" stroke="#1c201e" stroke-width="2.5"/><circle cx="12" cy="12" r="4" fill="#1c201e"/>"##
        }
        Severity::Info => r##"<circle cx="12" cy="12" r="9.5" fill="none" stroke="#1c201e" stroke-width="2.5"/>"##,
    };
    format!(r#"<svg class="mark" viewBox="0 0 24 24" role="img" aria-label="{}">{inside}</svg>"#, severity.words())
}
