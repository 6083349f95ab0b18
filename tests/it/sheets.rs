//! Sheets to print: what stands on them, word for word and number for number.

use crate::sample::{date, plan, term};
use crate::support::any::any_term;
use crate::support::few;
use crate::support::sheets::whole_term;
use chrono::NaiveDate;
use proptest::prelude::*;
use sowtide::check::check;
use sowtide::domain::calendar::{DateSpan, Week};
use sowtide::domain::growth::Way;
use sowtide::domain::ids::TankId;
use sowtide::domain::luck::Trouble;
use sowtide::domain::odds::{DayOdds, Odds};
use sowtide::domain::plan::{Origin, Plan};
use sowtide::domain::site::Site;
use sowtide::domain::term::Term;
use sowtide::domain::units::{Mass, Units};
use sowtide::insight::odds::{Luck, odds};
use sowtide::report::sheets::{Days, Kind, LabelGrid, LabelPaper, Paper, Wish, cell_stays, files};
use sowtide::report::work::{TaskKind, tasks};
use sowtide::schedule::{self, Options, Watch};
use std::collections::{BTreeSet, HashSet};

/// What stands in an HTML file, one line a block, without its styles.
pub(crate) fn words(html: &str) -> String {
    let body = html.split_once("<body>").unwrap().1;
    let mut text = String::new();
    let mut rest = body;
    while let Some((before, after)) = rest.split_once('<') {
        text.push_str(before);
        let (tag, after) = after.split_once('>').unwrap();
        let name = tag.split(' ').next().unwrap();
        match name {
            "b" | "/b" | "/span" | "rect" | "/rect" | "path" | "/path" => {}
            "td" | "th" | "dt" | "dd" | "span" | "text" | "/td" | "/th" | "/dt" | "/dd" | "/text" => {
                text.push(' ');
            }
            _ => text.push('\n'),
        }
        rest = after;
    }
    let lines = text.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" "));
    let lines: Vec<String> = lines.filter(|line| !line.is_empty()).collect();
    lines.join("\n").replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
        + "\n"
}

pub(crate) fn all_sites(term: &Term) -> Vec<&Site> {
    term.sites.iter().collect()
}

/// All sheets of one kind of the stored plan.
pub(crate) fn sheets(kind: Kind) -> String {
    let term = term();
    let files = files(&term, &plan(), &all_sites(&term), &whole_term(&term, &[kind], Paper::A4));
    let texts: Vec<String> =
        files.iter().map(|file| format!("===== {}\n{}", file.name, words(&file.html))).collect();
    texts.join("\n")
}

#[test]
fn sowing_sheets() {
    insta::assert_snapshot!(sheets(Kind::Sowing));
}

#[test]
fn transplant_sheets() {
    insta::assert_snapshot!(sheets(Kind::Transplant));
}

#[test]
fn harvest_sheets() {
    insta::assert_snapshot!(sheets(Kind::Harvest));
}

#[test]
fn labels() {
    insta::assert_snapshot!(sheets(Kind::Labels));
}

#[test]
fn labels_name_the_hole_however_long_the_tank_is_called() {
    let (mut term, mut plan) = (term(), plan());
    let long = TankId::new("tank-beside-the-window-of-the-hall-2");
    let tank = std::mem::replace(&mut term.sites[0].tanks[0].id, long.clone());
    let mut holes = Vec::new();
    let here = plan.batches.iter_mut().filter(|batch| batch.site == term.sites[0].id);
    for part in here.flat_map(|batch| &mut batch.parts).filter(|part| part.tank == tank) {
        part.tank = long.clone();
        holes.extend(part.holes.clone());
    }
    let grid = LabelGrid::common(Paper::A4, 5, 13).unwrap();
    let mut wish = whole_term(&term, &[Kind::Labels], Paper::A4);
    wish.labels.paper = LabelPaper::Grid(grid);
    let text = words(&files(&term, &plan, &[&term.sites[0]], &wish)[0].html);
    assert!(!holes.is_empty());
    for hole in holes {
        assert!(text.contains(&format!("l-2 hole {hole}\n")), "{hole}: {text}");
    }
}

#[test]
fn term_on_one_page() {
    insta::assert_snapshot!(sheets(Kind::Term));
}

/// Above the weeks stands what to expect of each serving day; where days stand too close, it does not.
#[test]
fn the_term_tells_how_sure_its_serving_days_are() {
    let (term, plan) = (term(), plan());
    let luck = Luck { runs: 500, seed: 1, threads: 1, trouble: Trouble::default() };
    let odds = odds(&term, &plan, None, luck);
    let told = |odds: Odds| {
        let wish = Wish { odds: Some(odds), ..whole_term(&term, &[Kind::Term], Paper::A4) };
        words(&files(&term, &plan, &all_sites(&term), &wish)[0].html)
    };
    let text = told(odds.clone());
    insta::assert_snapshot!(
        text.lines().filter(|line| line.contains("serve")).collect::<Vec<_>>().join("\n")
    );
    let daily = |at: usize| DayOdds { date: term.start + chrono::Days::new(at as u64), ..odds.days[0] };
    let crowded = Odds { days: (0..30).map(daily).collect(), ..odds.clone() };
    assert!(!told(crowded).contains("to serve"));
}

#[test]
fn a_week_without_work_is_told() {
    let term = term();
    let wish = Wish {
        days: Days::Week(Week::of(date("2026-10-12"))),
        ..whole_term(&term, &[Kind::Sowing], Paper::Letter)
    };
    let files = files(&term, &plan(), &all_sites(&term), &wish);
    let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
    assert_eq!(names, ["2026-W42-hall-sowing.html", "2026-W42-room-4-sowing.html"]);
    assert!(files.iter().all(|file| words(&file.html).contains("Nothing to do on these days")));
}

/// A hole on a lid map that has a word in it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Hole {
    day: NaiveDate,
    /// The batch written into the hole, or that of the card with the map.
    batch: String,
    tank: String,
    number: u32,
    word: String,
}

/// What the lid maps of a file say, sorted.
fn holes_on_maps(html: &str, plan: &Plan) -> Vec<Hole> {
    let ids: HashSet<&str> = plan.batches.iter().map(|batch| batch.id.as_str()).collect();
    let text = words(html);
    let mut day = NaiveDate::MIN;
    let (mut card, mut tank) = ("", "");
    let mut found: Vec<Hole> = Vec::new();
    let mut map_from = 0;
    for line in text.lines() {
        let before_comma = line.split_once(", ").map_or("", |(before, _)| before);
        if let Some((date, _)) = line.split_once(", week ") {
            day = NaiveDate::parse_from_str(date, "%A %-d %B %Y").unwrap();
        } else if let Some(name) = line.strip_prefix("Tank ") {
            tank = name;
            map_from = found.len();
        } else if line.split(' ').nth(1) == Some("is") {
            // Letters stand for names too long for a hole: `A is b001 B is b002`.
            let told: Vec<&str> = line.split(' ').collect();
            for hole in &mut found[map_from..] {
                let name = told.chunks(3).find(|told| told[0] == hole.batch).map(|told| told[2]);
                name.unwrap_or(&hole.batch.clone()).clone_into(&mut hole.batch);
            }
        } else if ids.contains(before_comma) {
            card = before_comma;
        } else if let [number, middle @ .., word] = &line.split(' ').collect::<Vec<_>>()[..]
            && let Ok(number) = number.parse()
            && ["new", "empty", "cut", "pull"].contains(word)
        {
            let batch = (*middle.first().unwrap_or(&card)).to_owned();
            found.push(Hole { day, batch, tank: tank.to_owned(), number, word: (*word).to_owned() });
        }
    }
    found.sort();
    found
}

/// The holes of tasks of this kind at a site as the plan has them, sorted.
fn holes_in_plan(term: &Term, plan: &Plan, site: &Site, kind: TaskKind) -> Vec<Hole> {
    let mut holes = Vec::new();
    for task in tasks(term, plan).iter().filter(|task| task.batch.site == site.id && task.kind == kind) {
        for part in &task.parts {
            let word = match part.harvest.map(|harvest| harvest.way) {
                None => "new",
                Some(Way::Cut) => "cut",
                Some(Way::WholeHead) => "pull",
            };
            holes.extend(part.part.holes.iter().map(|number| Hole {
                day: task.date,
                batch: task.batch.id.to_string(),
                tank: part.part.tank.to_string(),
                number: *number,
                word: word.to_owned(),
            }));
        }
    }
    holes.sort();
    holes
}

/// Holes that the plan leaves empty beside plants standing on the days and in the tanks of these holes.
fn kept_empty(plan: &Plan, site: &Site, moved: &[Hole]) -> BTreeSet<(NaiveDate, String, u32)> {
    let mut kept = BTreeSet::new();
    for Hole { day, tank, .. } in moved {
        let parts = plan.batches.iter().filter(|batch| batch.site == site.id).flat_map(|batch| &batch.parts);
        for part in parts.filter(|part| part.tank.as_str() == tank) {
            if part.transplant <= *day && part.leaves().is_none_or(|leaves| *day < leaves) {
                kept.extend(part.kept_empty.iter().map(|hole| (*day, tank.clone(), *hole)));
            }
        }
    }
    kept
}

/// Every lid map has just the holes of the plan.
fn lid_maps_agree(term: &Term, plan: &Plan) {
    for site in &term.sites {
        let on_paper = |kind| {
            let files = files(term, plan, &[site], &whole_term(term, &[kind], Paper::Letter));
            holes_on_maps(&files[0].html, plan)
        };
        assert_eq!(on_paper(Kind::Harvest), holes_in_plan(term, plan, site, TaskKind::Harvest));
        let (empty, new): (Vec<_>, Vec<_>) =
            on_paper(Kind::Transplant).into_iter().partition(|hole| hole.word == "empty");
        assert_eq!(new, holes_in_plan(term, plan, site, TaskKind::Transplant));
        let empty: BTreeSet<_> = empty.into_iter().map(|hole| (hole.day, hole.tank, hole.number)).collect();
        assert_eq!(empty, kept_empty(plan, site, &new));
    }
}

/// Two batches never share a cell, no cell is beyond the nursery, and every plug has one; seed in cups needs none.
fn cells_are_enough(term: &Term, plan: &Plan) {
    for site in &term.sites {
        let stays = cell_stays(term, plan, site);
        let batches = || plan.batches.iter().filter(|batch| batch.site == site.id);
        for batch in batches().filter(|batch| !batch.is_standing() && batch.origin != Origin::InCups) {
            assert_eq!(stays[&batch.id].cells.len() as u32, batch.plugs, "{}", batch.id);
        }
        for day in (DateSpan { first: term.start, last: term.end }).days() {
            let there = batches().filter(|batch| batch.sown <= day).filter_map(|batch| stays.get(&batch.id));
            let cells: Vec<u32> = there.flat_map(|stay| stay.on(day)).copied().collect();
            assert_eq!(cells.iter().collect::<HashSet<_>>().len(), cells.len(), "{} on {day}", site.id);
            assert!(cells.iter().all(|cell| (1..=site.nursery.cells).contains(cell)));
        }
    }
}

#[test]
fn lid_maps_show_the_holes_of_the_stored_plan() {
    lid_maps_agree(&term(), &plan());
}

#[test]
fn every_plug_of_the_stored_plan_has_a_cell_of_its_own() {
    cells_are_enough(&term(), &plan());
}

proptest! {
    #![proptest_config(few(16))]

    #[test]
    fn sheets_of_any_plan_agree_with_it(term in any_term(), seed in any::<u64>()) {
        let options = Options {
            seed,
            effort: Some(20),
            until_stopped: false,
            term_id: "0123456789abcdef".to_owned(),
            made: "2026-09-01T08:30:00Z".parse().unwrap(),
        };
        let watch = Watch { stop: &|| false, report: &|_| {}, threads: 2 };
        // Plants that stand at the start may be in each other's way; that there is no plan then is right.
        let Ok(plan) = schedule::plan(&term, None, &options, &watch) else { return Ok(()) };
        prop_assert_eq!(check(&term, &plan), []);
        lid_maps_agree(&term, &plan);
        cells_are_enough(&term, &plan);
    }
}

/// Every figure of the plan stands on its sheet: plugs, seeds, plants, and masses before and after trimming.
#[test]
fn figures_on_paper_are_those_of_the_plan() {
    let (term, plan) = (term(), plan());
    for units in [Units::Metric, Units::Us] {
        for task in tasks(&term, &plan) {
            let site = term.site(&task.batch.site).unwrap();
            let (kind, lines) = match task.kind {
                TaskKind::Sow => (
                    Kind::Sowing,
                    vec![
                        format!("plugs {}", task.batch.plugs),
                        format!("seeds in each plug {}", task.batch.seeds_per_plug),
                        format!("seeds in all {}", task.batch.plugs * task.batch.seeds_per_plug),
                    ],
                ),
                TaskKind::Transplant => (Kind::Transplant, vec![format!(" {} plants", task.plants())]),
                TaskKind::Harvest => {
                    let show = |grams: f64| Mass::from_grams(grams).show(units).to_string();
                    let raw: f64 =
                        task.harvests().map(|harvest| harvest.grams / harvest.arithmetic.ready_to_eat).sum();
                    let mut lines = vec![
                        format!("Plants harvested, of {}", task.plants()),
                        format!("On the scales (about {})", show(raw)),
                        format!("Ready to eat (about {})", show(task.grams())),
                    ];
                    let handfuls = task.handfuls();
                    let grams: f64 = handfuls.iter().map(|handful| handful.grams).sum();
                    assert!((grams - task.grams()).abs() < 1e-6);
                    let expect = |grams: f64| format!("Expect about {} ready", show(grams));
                    lines.extend(handfuls.iter().map(|handful| expect(handful.grams)));
                    (Kind::Harvest, lines)
                }
            };
            let days = Days::Span(DateSpan { first: task.date, last: task.date });
            let wish = Wish { days, units, ..whole_term(&term, &[kind], Paper::A4) };
            let text = words(&files(&term, &plan, &[site], &wish)[0].html).replace('\u{a0}', " ");
            assert!(text.contains(task.batch.id.as_str()), "{text}");
            for line in lines {
                assert!(text.contains(&line), "{line:?} is not in:\n{text}");
            }
        }
    }
}
