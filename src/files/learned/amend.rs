//! Figures put into the files people wrote: single values change, everything else stays as it is written.

use crate::domain::crop::{self, Crop};
use crate::domain::ids::{CropId, SiteId};
use crate::domain::learned::{Figure, Of};
use crate::domain::site::CropHere;
use crate::domain::term::Term;
use crate::files::crop_file::OWN_RECORDS;
use crate::files::library;
use crate::files::problem::{Problem, Problems, TextFile};
use crate::files::store::{Laid, Store};
use crate::files::term_file;
use std::collections::BTreeSet;
use std::str::FromStr;
use yaml_edit::{Mapping, YamlFile, YamlNode};

/// Names and texts of the files that change, the term file last; nothing is written yet.
pub type Amended = Vec<(String, String)>;

/// A word on a figure that is changed, for those who read the file later.
#[derive(Debug, Clone)]
pub struct Note {
    /// The figure.
    pub of: Of,
    /// Where it comes from, if that is to be written: what the file had before; own records if `None`.
    pub source: Option<String>,
    /// What every note on this figure has in it: older ones are taken out.
    pub mark: String,
    /// The note, one line; `None` if nothing is to be said any more.
    pub line: Option<String>,
}

/// The files of a term with some figures of `term` in them, and the note on each at the end of its file.
///
/// # Errors
/// If a file cannot be read, or cannot be changed so that it says just that: it has to be changed by hand then.
pub fn amended(store: &dyn Store, term: &Term, notes: &[Note]) -> Result<Amended, Problems> {
    let (of_sites, of_crops): (Vec<&Note>, Vec<&Note>) =
        notes.iter().partition(|note| note.of.site.is_some());
    let mut files = Amended::new();
    for id in of_crops.iter().map(|note| &note.of.crop).collect::<BTreeSet<&CropId>>() {
        let Some(wanted) = term.crop(id) else { continue };
        let file = library::file_of(store, id)?;
        let own: Vec<&Note> = of_crops.iter().copied().filter(|note| note.of.crop == *id).collect();
        let change = |root: &Mapping| own.iter().try_for_each(|note| set(root, &wanted.crop, note));
        files.push((library::own_name(store, id), changed(&file, &own, change)?));
    }
    if !of_sites.is_empty() {
        let file = TextFile::need(store, term_file::FILE_NAME)?;
        let change = |root: &Mapping| {
            of_sites.iter().try_for_each(|note| set_here(root, term, note.of.site.as_ref()?, &note.of.crop))
        };
        files.push((term_file::FILE_NAME.to_owned(), changed(&file, &of_sites, change)?));
    }
    let read = term_file::read(&Laid::new(store, &files))?.term;
    let differs = |note: &&Note| {
        let figures = [&read, term].map(|term| term.figure(&note.of));
        !matches!(figures, [Some(one), Some(other)] if note.of.figure.alike(one, other))
    };
    match notes.iter().find(differs) {
        None if says_else(&read, term, notes) => Err(other_figures(store).alone()),
        None => Ok(files),
        Some(note) => Err(by_hand(store, &note.of).alone()),
    }
}

/// Whether terms differ in anything but some figures, which were compared already.
fn says_else(read: &Term, meant: &Term, notes: &[Note]) -> bool {
    let mut read = read.clone();
    for Note { of, .. } in notes {
        let meant = meant.crops.iter().find(|wanted| wanted.crop.id == of.crop);
        let own = read.crops.iter_mut().find(|wanted| wanted.crop.id == of.crop);
        if let (None, Some(meant), Some(own)) = (&of.site, meant, own) {
            let (own, meant) = (&mut own.crop, &meant.crop);
            match (of.figure, &mut own.regrowth, &meant.regrowth) {
                (Figure::Germination, ..) => own.germination.clone_from(&meant.germination),
                (Figure::NurserySurvival, ..) => own.nursery_survival.clone_from(&meant.nursery_survival),
                (Figure::TankSurvival, ..) => own.tank_survival.clone_from(&meant.tank_survival),
                (Figure::Vigour, Some(own), Some(meant)) => own.vigour.clone_from(&meant.vigour),
                (Figure::Strength, Some(own), Some(meant)) => own.strength.clone_from(&meant.strength),
                (Figure::Interval, Some(own), Some(meant)) => own.interval.clone_from(&meant.interval),
                _ => {}
            }
        }
    }
    for (own, meant) in read.sites.iter_mut().zip(&meant.sites) {
        let near = |one: f64, other: f64| (one - other).abs() < 1e-3;
        let same = |crop: &CropId, own: &CropHere| {
            let meant = meant.as_stated(crop);
            near(own.pace, meant.pace)
                && near(own.yield_factor, meant.yield_factor)
                && near(own.give_or_take.unwrap_or(0.0), meant.give_or_take.unwrap_or(0.0))
        };
        let all = own.crops.keys().chain(meant.crops.keys());
        if all.collect::<BTreeSet<_>>().into_iter().all(|crop| same(crop, &own.as_stated(crop))) {
            own.crops.clone_from(&meant.crops);
        }
    }
    read != *meant
}

fn other_figures(store: &dyn Store) -> Problem {
    let title = "other figures would change with those that are meant";
    let help =
        "nothing was changed; write out in full what is said by & and * in this file and in the folder crops";
    Problem::without_text(store.shown(term_file::FILE_NAME), title, help)
}

/// A file's text after a change, with notes behind it.
fn changed(
    file: &TextFile,
    notes: &[&Note],
    change: impl FnOnce(&Mapping) -> Option<()>,
) -> Result<String, Problems> {
    let parsed = YamlFile::from_str(file.text()).ok();
    let done = parsed.as_ref().and_then(|parsed| change(&parsed.document()?.as_mapping()?));
    let (Some(parsed), Some(())) = (parsed, done) else {
        let help = "nothing was changed; write the figures into it by hand";
        return Err(file
            .whole_problem("this file is written in a way that is not changed by itself", help)
            .alone());
    };
    let text = parsed.to_string();
    let old = |line: &&str| line.starts_with("# 2") && notes.iter().any(|note| line.contains(&note.mark));
    let kept: String = text.split_inclusive('\n').filter(|line| !old(line)).collect();
    let lines = notes.iter().filter_map(|note| note.line.as_ref());
    let added: String = lines.flat_map(|line| ["# ", line, "\n"]).collect();
    let end = if kept.ends_with('\n') || added.is_empty() { "" } else { "\n" };
    Ok(format!("{kept}{end}{added}"))
}

fn by_hand(store: &dyn Store, of: &Of) -> Problem {
    let name =
        if of.site.is_some() { term_file::FILE_NAME.to_owned() } else { library::own_name(store, &of.crop) };
    let title = format!("the figures of {} cannot be put into this file by themselves", of.crop);
    Problem::without_text(store.shown(&name), title, "nothing was changed; write the figures into it by hand")
}

/// Writes what a site says of a crop.
fn set_here(root: &Mapping, term: &Term, site: &SiteId, crop: &CropId) -> Option<()> {
    let at = term.site(site)?;
    let here = at.as_stated(crop);
    let sites = match root.get_sequence("sites") {
        Some(sites) => sites.values().filter_map(|node| node.as_mapping().cloned()).collect(),
        None => vec![root.get_mapping("sites")?],
    };
    let is_it = |map: &Mapping| text_at(map, "id").is_some_and(|id| id == site.as_str());
    let own = sites.into_iter().find(is_it)?;
    let crops = own.get_mapping("crops");
    if crops.is_none() && own.get("crops").is_some() {
        return None;
    }
    let key = crops.as_ref().map_or_else(|| crop.to_string(), |crops| key_of(crops, term, crop));
    if !at.crops.contains_key(crop) {
        if let Some(crops) = crops {
            crops.remove(key.as_str());
            if crops.is_empty() {
                own.remove("crops");
            }
        }
        return Some(());
    }
    let off = here.give_or_take.map(percent);
    let told = off.as_ref().map_or(String::new(), |off| format!(", give-or-take: {off}"));
    let entry = format!("{{ pace: {}, yield: {}{told} }}", number(here.pace), number(here.yield_factor));
    match crops {
        None => own.set("crops", value(&format!("{{ {crop}: {entry} }}"))?),
        Some(crops) => match crops.get_mapping(key.as_str()) {
            None => crops.set(key.as_str(), value(&entry)?),
            Some(known) => {
                known.set("pace", value(&number(here.pace).to_string())?);
                known.set("yield", value(&number(here.yield_factor).to_string())?);
                match off {
                    Some(off) => known.set("give-or-take", value(&off)?),
                    None => _ = known.remove("give-or-take"),
                }
            }
        },
    }
    Some(())
}

/// The name that people wrote for a crop among those of a site; its id if it is not there.
fn key_of(crops: &Mapping, term: &Term, crop: &CropId) -> String {
    let called = |key: &String| term.crop(crop).is_some_and(|wanted| wanted.crop.is_called(key));
    let mut keys = crops.keys().filter_map(|key| key.as_scalar().map(|scalar| scalar.as_string()));
    keys.find(called).unwrap_or_else(|| crop.to_string())
}

/// Writes a figure that a crop has everywhere.
fn set(root: &Mapping, crop: &Crop, note: &Note) -> Option<()> {
    let regrowth = crop.regrowth.as_ref();
    if note.of.figure == Figure::Vigour && written(root, Figure::Vigour).is_none() {
        // A file that does not tell it has no line for it.
        let line = format!("{{ value: {}, source: {OWN_RECORDS} }}", percent(regrowth?.vigour.value));
        root.get_mapping("regrowth")?.set("vigour", value(&line)?);
        return Some(());
    }
    if note.line.is_none() && note.source.is_none() {
        root.get_mapping("regrowth")?.remove("vigour");
        return Some(());
    }
    let figure = written(root, note.of.figure)?;
    match note.of.figure {
        Figure::Germination => set_share(&figure, &crop.germination),
        Figure::NurserySurvival => set_share(&figure, &crop.nursery_survival),
        Figure::TankSurvival => set_share(&figure, &crop.tank_survival),
        Figure::Vigour => set_share(&figure, &regrowth?.vigour),
        Figure::Strength => {
            let shares: Vec<String> = regrowth?.strength.value.iter().map(|share| percent(*share)).collect();
            figure.set("value", value(&format!("[{}]", shares.join(", ")))?);
            Some(())
        }
        Figure::Interval => {
            let days = regrowth?.interval.value;
            figure.set("least", i64::from(days.min));
            figure.set("usual", i64::from(days.usual));
            figure.set("most", i64::from(days.max));
            Some(())
        }
        Figure::Yield | Figure::Pace | Figure::GiveOrTake => None,
    }?;
    figure.set("source", note.source.as_deref().unwrap_or(OWN_RECORDS));
    Some(())
}

/// Where a figure that a crop has everywhere is written.
fn written(root: &Mapping, figure: Figure) -> Option<Mapping> {
    let regrowth = || root.get_mapping("regrowth");
    match figure {
        Figure::Germination => root.get_mapping("germination"),
        Figure::NurserySurvival => root.get_mapping("nursery_survival"),
        Figure::TankSurvival => root.get_mapping("tank_survival"),
        Figure::Vigour => regrowth()?.get_mapping("vigour"),
        Figure::Strength => regrowth()?.get_mapping("strength"),
        Figure::Interval => regrowth()?.get_mapping("interval"),
        Figure::Yield | Figure::Pace | Figure::GiveOrTake => None,
    }
}

/// The source of a figure, in the words of its file; `None` where it has none.
#[must_use]
pub fn source_of(store: &dyn Store, of: &Of) -> Option<String> {
    let file = library::file_of(store, &of.crop).ok().filter(|_| of.site.is_none())?;
    let root = YamlFile::from_str(file.text()).ok()?.document()?.as_mapping()?;
    text_at(&written(&root, of.figure)?, "source")
}

/// Writes a share and the ends of its spread, if it has one.
fn set_share(figure: &Mapping, share: &crop::Figure<f64>) -> Option<()> {
    figure.set("value", value(&percent(share.value))?);
    if let Some(spread) = &share.spread {
        figure.set("low", value(&percent(spread.low))?);
        figure.set("high", value(&percent(spread.high))?);
    }
    Some(())
}

fn text_at(map: &Mapping, key: &str) -> Option<String> {
    Some(map.get(key)?.as_scalar()?.as_string())
}

/// A value as it is written, without quotes of its own.
fn value(text: &str) -> Option<YamlNode> {
    YamlFile::from_str(&format!("value: {text}")).ok()?.document()?.as_mapping()?.get("value")
}

fn percent(share: f64) -> String {
    format!("{} %", number(share * 100.0))
}

/// A number without the digits that come of its being kept in binary.
fn number(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}
