//! What is learned from observations, against Gaussian process regression of scikit-learn.

use super::needs::PYTHON;
use super::python;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::json;
use sowtide::domain::pooling::{Observation, pooled};

checks! {
    PYTHON =>
        effects_are_believed_as_by_a_gaussian_process;
}

const PROCESS: &str = include_str!("learning.py");

/// Sites, crops and batches with observations of some of them.
fn observations(luck: &mut ChaCha8Rng, effects: usize) -> Vec<Observation> {
    let one = |_| {
        let of = [luck.random_range(0..3), luck.random_range(3..7), luck.random_range(7..effects)];
        Observation {
            effects: of.map(|effect| (effect, luck.random_range(-3.0..1.0))).to_vec(),
            value: luck.random_range(-0.8..0.8),
            variance: luck.random_range(0.005..0.1),
        }
    };
    (0..40).map(one).collect()
}

fn effects_are_believed_as_by_a_gaussian_process() {
    let mut luck = ChaCha8Rng::seed_from_u64(7);
    let variances: Vec<f64> = (0..20).map(|_| luck.random_range(0.002..0.1)).collect();
    let seen = observations(&mut luck, variances.len());
    let told = seen
        .iter()
        .map(|seen| json!({ "effects": seen.effects, "value": seen.value, "variance": seen.variance }));
    let data = json!({ "variances": variances, "observations": told.collect::<Vec<_>>() });
    let (_folder, path) = python::file("data.json", &data.to_string());
    let out = python::run(PROCESS, &[&path]);
    let mut lines = out.lines();
    let believed = pooled(&variances, &seen);
    let evidence: f64 = lines.next().unwrap().parse().unwrap();
    assert!((believed.evidence() - evidence).abs() < 1e-6, "{} and {evidence}", believed.evidence());
    for effect in 0..variances.len() {
        let line = lines.next().unwrap();
        let (mean, deviation) = line.split_once(' ').unwrap();
        let theirs: [f64; 2] = [mean.parse().unwrap(), deviation.parse().unwrap()];
        let ours = [believed.mean(&[(effect, 1.0)]), believed.deviation(&[(effect, 1.0)])];
        for (ours, theirs) in ours.into_iter().zip(theirs) {
            assert!((ours - theirs).abs() < 1e-6, "effect {effect}: {ours} and {theirs}");
        }
    }
}
