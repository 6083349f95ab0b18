use super::masses::Masses;
use crate::domain::growth::Growing;
use crate::domain::luck::Pacing;
use crate::files::library::Library;

/// A tenth and nine tenths of a log-normal distribution of mean 100: `100 · exp(±1.28155 s - s² / 2)`, `s² = ln(1 + 0.04)`.
#[test]
fn without_slow_batches_grams_are_log_normal() {
    let library = Library::builtin().unwrap();
    let growing = Growing::at(library.get("oakleaf").unwrap(), 1.0, 1.0, 2.5);
    let growth = Pacing::new(&growing, (44, true), 145.0);
    let masses = Masses::new(&[(60.0, &growth), (40.0, &growth)], 0.0, &[0.04]);
    let s = 1.04_f64.ln().sqrt();
    for (share, deviations) in [(0.1, -1.281_55), (0.9, 1.281_55)] {
        let expected = 100.0 * (deviations * s - s * s / 2.0_f64).exp();
        assert!((masses.quantile(share) - expected).abs() < 1e-3, "{share}");
    }
    let certain = Masses::new(&[(100.0, &growth)], 0.0, &[0.0]);
    assert!((certain.quantile(0.1) - 100.0).abs() < 1e-3 && (certain.quantile(0.9) - 100.0).abs() < 1e-3);
}
