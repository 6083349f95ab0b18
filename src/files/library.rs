//! The crop library: the entries that come with the program, and a grower's own laid over them.

use super::crop_file;
use super::problem::{Problem, Problems, TextFile, nearest, suggest};
use super::store::Store;
use crate::domain::crop::Crop;
use crate::domain::ids::{CropId, is_plain};
use include_dir::{Dir, include_dir};
use std::collections::BTreeMap;
use std::io;
use std::path::Path;

/// Name of the folder with a term's own crops.
pub const FOLDER: &str = "crops";

static BUILT_IN: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/crops");

/// Crops by id.
#[derive(Debug, Clone, PartialEq)]
pub struct Library {
    crops: BTreeMap<String, Crop>,
}

impl Library {
    /// The crops that come with the program.
    ///
    /// # Errors
    /// If a built-in file has mistakes, which the tests rule out.
    pub fn builtin() -> Result<Self, Problems> {
        let mut library = Self { crops: BTreeMap::new() };
        let texts = BUILT_IN.files().map(|file| {
            let shown = Path::new("built-in crops").join(file.path());
            let text = file.contents_utf8().unwrap_or_default();
            Ok(TextFile::new(shown.display().to_string(), text))
        });
        library.add(texts)?;
        Ok(library)
    }

    /// Lays the crop files of a term over this library. A crop that is already there is replaced as
    /// a whole, so that no figure of it comes from two places. Without a folder of crops nothing changes;
    /// hidden files and files other than `.yaml` and `.yml` are left alone, but a second ending is complained about.
    ///
    /// # Errors
    /// With every mistake of every file, and if the folder or a file in it cannot be read.
    pub fn overlay(mut self, store: &dyn Store) -> Result<Self, Problems> {
        let names = crop_files(store).map_err(|error| {
            let title = format!("this folder of crops cannot be read: {error}");
            let help = "check that it is a folder and that you may open it";
            Problem::without_text(store.shown(FOLDER), title, help).alone()
        })?;
        Problems::check(names.iter().filter_map(|name| misnamed(store, name)).collect())?;
        self.add(names.iter().filter(|name| is_yaml(name)).map(|name| TextFile::need(store, name)))?;
        Ok(self)
    }

    /// The crop of that id.
    pub fn get(&self, id: &str) -> Option<&Crop> {
        self.crops.get(id)
    }

    /// The crop that somebody typed the id or a name of, in small letters or not; `None` if there is none, or more than one.
    pub fn typed(&self, typed: &str) -> Option<&Crop> {
        let wanted = typed.trim().to_lowercase();
        let alike = |crop: &&Crop| crop.is_called(typed);
        let only = || {
            let mut all = self.iter().filter(alike);
            all.next().filter(|_| all.next().is_none())
        };
        self.get(typed).or_else(|| self.get(&wanted)).or_else(only)
    }

    /// All crops, sorted by id.
    pub fn iter(&self) -> impl Iterator<Item = &Crop> {
        self.crops.values()
    }

    /// All ids, sorted.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        self.crops.keys().map(String::as_str)
    }

    /// All names of all crops.
    fn names(&self) -> impl Iterator<Item = &str> {
        self.iter().flat_map(Crop::names)
    }

    /// The crop that was most likely meant by a name that none has, by any of its names; else the ids of all.
    pub fn suggest(&self, typed: &str) -> String {
        nearest(typed, self.names()).map_or_else(|| suggest(typed, self.ids()), |name| suggest(typed, [name]))
    }

    /// Adds crops whose ids differ from each other; those of the library so far give way.
    fn add(&mut self, files: impl Iterator<Item = Result<TextFile, Problems>>) -> Result<(), Problems> {
        let mut problems = Vec::new();
        let mut added: BTreeMap<String, Option<Crop>> = BTreeMap::new();
        for file in files {
            let crop = file.and_then(|file| {
                let id = id_of(&file)?;
                if added.contains_key(&id) {
                    let help = "keep only one of the two files";
                    let title = format!("there is another file for \"{id}\" in this folder");
                    return Err(file.whole_problem(title, help).alone());
                }
                added.insert(id.clone(), None);
                crop_file::read(CropId::new(&*id), &file)
            });
            match crop {
                Ok(crop) => {
                    added.insert(crop.id.as_str().to_owned(), Some(crop));
                }
                Err(found) => problems.extend(found.into_vec()),
            }
        }
        Problems::check(problems)?;
        let crops = added.into_iter().filter_map(|(id, crop)| Some((id, crop?)));
        self.crops.extend(crops);
        Ok(())
    }
}

/// The stem of a file's name, if it is fit for an id.
fn id_of(file: &TextFile) -> Result<String, Problems> {
    let stem = Path::new(file.path()).file_stem().unwrap_or_default();
    match stem.to_str() {
        Some(stem) if is_plain(stem) => Ok(stem.to_owned()),
        _ => {
            let title = format!("\"{}\" cannot be the id of a crop", stem.display());
            let help =
                "name the file with lower-case letters a to z, digits and hyphens, such as red-oakleaf.yaml";
            Err(file.whole_problem(title, help).alone())
        }
    }
}

/// Name of a term's own file for a crop, be it there or not.
pub(super) fn own_name(store: &dyn Store, id: &CropId) -> String {
    let names = crop_files(store).unwrap_or_default();
    let own = names
        .into_iter()
        .filter(|name| is_yaml(name))
        .find(|name| Path::new(name).file_stem().and_then(|stem| stem.to_str()) == Some(id.as_str()));
    own.unwrap_or_else(|| format!("{FOLDER}/{id}.yaml"))
}

/// The file of a crop: a term's own, else the one that comes with the program.
///
/// # Errors
/// If a term's own cannot be read, or there is none of the kind.
pub(super) fn file_of(store: &dyn Store, id: &CropId) -> Result<TextFile, Problems> {
    let name = own_name(store, id);
    let own = TextFile::read(store, &name)?;
    let built_in = || BUILT_IN.get_file(format!("{id}.yaml")).and_then(|file| file.contents_utf8());
    let shown = || store.shown(&name);
    own.or_else(|| Some(TextFile::new(shown(), built_in()?)))
        .ok_or_else(|| Problem::without_text(shown(), "this crop file is missing", "put it back").alone())
}

/// Ids that a term's own crop files give, be they readable or not.
pub(super) fn own_ids(store: &dyn Store) -> Vec<String> {
    let names = crop_files(store).unwrap_or_default();
    names.iter().filter_map(|name| Some(Path::new(name).file_stem()?.to_str()?.to_owned())).collect()
}

/// Names of a term's own crop files within its folder.
pub(super) fn own_files(store: &dyn Store) -> Vec<String> {
    let mut names = crop_files(store).unwrap_or_default();
    names.retain(|name| is_yaml(name));
    names
}

fn is_yaml(name: &str) -> bool {
    let ending = Path::new(name).extension().unwrap_or_default();
    ["yaml", "yml"].iter().any(|known| ending.eq_ignore_ascii_case(known))
}

/// A complaint about a crop file that some editor gave a second ending: nobody would see that it is not read.
fn misnamed(store: &dyn Store, name: &str) -> Option<Problem> {
    let (stem, _) = name.rsplit_once('.').filter(|(stem, _)| is_yaml(stem) && !is_yaml(name))?;
    let title = "this crop file is not read because of the end of its name";
    let own = stem.rsplit('/').next().unwrap_or(stem);
    Some(Problem::without_text(store.shown(name), title, format!("rename it to {own}")))
}

/// The files of a term's folder of crops that are not hidden, sorted by name.
fn crop_files(store: &dyn Store) -> io::Result<Vec<String>> {
    let names = store.names(FOLDER)?.into_iter().filter(|name| !name.starts_with('.'));
    Ok(names.map(|name| format!("{FOLDER}/{name}")).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::store::{Disk, Memory};

    fn own(files: &[(&str, &str)]) -> Result<Library, Problems> {
        let store = files
            .iter()
            .fold(Memory::new(), |store, (name, text)| store.with(&format!("crops/{name}"), text));
        Library::builtin().unwrap().overlay(&store)
    }

    fn embedded(name: &str) -> &'static str {
        BUILT_IN.get_file(name).and_then(|file| file.contents_utf8()).unwrap()
    }

    #[test]
    fn every_built_in_crop_loads() {
        let library = Library::builtin().unwrap_or_else(|problems| panic!("{problems}"));
        let ids: Vec<&str> = library.ids().collect();
        assert_eq!(ids.len(), BUILT_IN.files().count());
        assert!(ids.len() >= 20 && ids.is_sorted(), "{ids:?}");
        assert!(library.iter().map(|crop| crop.id.as_str()).eq(ids.iter().copied()));
    }

    #[test]
    fn crops_answer_to_all_their_names_and_to_no_other_crop_s() {
        let library = Library::builtin().unwrap();
        for crop in library.iter() {
            for name in crop.names() {
                let found = library.typed(name).map(|found| &found.id);
                assert_eq!(found, Some(&crop.id), "{name}");
            }
        }
        for (typed, id) in
            [("Arugula", "rocket"), ("bok choy", "pak-choi"), ("Pak choi", "pak-choi"), (" COS ", "romaine")]
        {
            assert_eq!(library.typed(typed).unwrap().id.as_str(), id);
        }
        assert!(library.typed("lettuce").is_none());
    }

    #[test]
    fn own_files_replace_and_add_whole_crops() {
        let corrected =
            embedded("oakleaf.yaml").replace("name: Oakleaf lettuce (loose-leaf)", "name: Our oakleaf");
        let library = own(&[
            ("oakleaf.yaml", &corrected),
            ("red-oakleaf.yml", embedded("oakleaf.yaml")),
            (".oakleaf.yaml", "not read"),
            ("notes.txt", "not read"),
        ])
        .unwrap();
        let built_in = Library::builtin().unwrap();
        assert_eq!(library.get("oakleaf").unwrap().name, "Our oakleaf");
        assert_eq!(library.get("red-oakleaf").unwrap().id.as_str(), "red-oakleaf");
        assert_eq!(library.iter().count(), built_in.iter().count() + 1);
        assert_eq!(library.get("basil"), built_in.get("basil"));
    }

    #[test]
    fn mistakes_in_all_own_files_come_together() {
        let sound = embedded("oakleaf.yaml");
        let problems = own(&[
            ("a.yaml", &sound.replace("kind:", "knid:")),
            ("b.yaml", ""),
            ("My Leaf.yaml", sound),
            ("twin.yaml", sound),
            ("twin.yml", sound),
        ])
        .unwrap_err();
        let found: Vec<String> = problems
            .iter()
            .map(|problem| {
                let name = Path::new(problem.path()).file_name().unwrap_or_default();
                format!("{} {}", name.display(), problem.message())
            })
            .collect();
        insta::assert_snapshot!(found.join("\n"), @r#"
        My Leaf.yaml "My Leaf" cannot be the id of a crop
        a.yaml "kind" is missing here
        a.yaml unknown key "knid"
        b.yaml there is nothing in this file
        twin.yml there is another file for "twin" in this folder
        "#);
    }

    #[test]
    fn a_crop_file_with_a_second_ending_is_told() {
        let refused =
            own(&[("oakleaf.yaml.txt", "x"), ("basil.yml.bak", "x"), ("notes.txt", "x")]).unwrap_err();
        let helps: Vec<&str> = refused.iter().map(Problem::help).collect();
        assert_eq!(helps, ["rename it to basil.yml", "rename it to oakleaf.yaml"]);
    }

    #[test]
    fn a_missing_folder_changes_nothing_and_a_file_is_no_folder() {
        let folder = tempfile::tempdir().unwrap();
        let disk = Disk::at(folder.path());
        let built_in = Library::builtin().unwrap();
        assert_eq!(built_in.clone().overlay(&disk).unwrap(), built_in);
        std::fs::write(folder.path().join("crops"), "x").unwrap();
        assert!(built_in.overlay(&disk).is_err());
    }
}
