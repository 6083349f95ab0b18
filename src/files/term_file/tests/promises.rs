//! How sure serving days should be.

use super::{SOUND, outcome, told};

#[test]
fn days_are_promised_as_much_as_their_target_says() {
    let promised = |line: &str| {
        let read = outcome(&SOUND.replace("  serving: 25 g\n", &format!("  serving: 25 g\n{line}")));
        read.map(|read| read.term.servings.iter().map(|serving| serving.sure).collect::<Vec<f64>>())
    };
    for (line, sure) in
        [("", 0.0), ("  sure: no\n", 0.0), ("  sure: 80 %\n", 0.8), ("  sure: 92.5 %\n", 0.925)]
    {
        let found = promised(line).unwrap();
        assert!(found.iter().all(|own| (own - sure).abs() < 1e-12), "{line}: {found:?}");
    }
    insta::assert_snapshot!(told(&[
        ("  serving: 25 g", "  serving: 25 g\n  sure: 30 %"),
        ("  serving: 25 g", "  serving: 25 g\n  sure: 100 %"),
        ("  serving: 25 g", "  serving: 25 g\n  sure: always"),
        ("  serving: 25 g", "  serving: 25 g\n  sure: 80"),
        ("  serving: 25 g", "  serving: 25 g\n  sure: 0.8"),
        ("  serving: 25 g", "  serving: 25 g\n  shure: 80 %"),
    ]), @r#"
        == serving: 25 g   sure: 30 %
        20:9 this is too small | write a share from 50 % to 95 %, such as 50 %
        == serving: 25 g   sure: 100 %
        20:9 this is too large | write a share from 50 % to 95 %, such as 50 %
        == serving: 25 g   sure: always
        20:9 "always" is not a share in per cent | write a share from 50 % to 95 %, such as 50 %
        == serving: 25 g   sure: 80
        20:9 "80" is not a share in per cent | write a share from 50 % to 95 %, such as 80 %
        == serving: 25 g   sure: 0.8
        20:9 "0.8" is not a share in per cent | write a share from 50 % to 95 %, such as 80 %
        == serving: 25 g   shure: 80 %
        20:3 unknown key "shure" | did you mean "sure"?
    "#);
}
