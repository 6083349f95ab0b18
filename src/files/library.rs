//! The crop library: the entries that come with the program, and a grower's own laid over them.

use super::crop_file;
use super::problem::{Problem, Problems, TextFile};
use crate::domain::crop::Crop;
use crate::domain::ids::{CropId, is_plain};
use include_dir::{Dir, include_dir};
use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};

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

    /// Lays the crop files of a folder over this library. A crop that is already there is replaced as
    /// a whole, so that no figure of it comes from two places. A missing folder changes nothing;
    /// hidden files and files other than `.yaml` and `.yml` are left alone, but a second ending is complained about.
    ///
    /// # Errors
    /// With every mistake of every file, and if the folder or a file in it cannot be read.
    pub fn overlay(mut self, dir: &Path) -> Result<Self, Problems> {
        let paths = match crop_files(dir) {
            Ok(paths) => paths,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(self),
            Err(error) => {
                let title = format!("this folder of crops cannot be read: {error}");
                let help = "check that it is a folder and that you may open it";
                return Err(Problem::without_text(dir, title, help).alone());
            }
        };
        Problems::check(paths.iter().filter_map(|path| misnamed(path)).collect())?;
        self.add(paths.iter().filter(|path| is_yaml(path)).map(|path| TextFile::read(path)))?;
        Ok(self)
    }

    /// The crop of that id.
    pub fn get(&self, id: &str) -> Option<&Crop> {
        self.crops.get(id)
    }

    /// All crops, sorted by id.
    pub fn iter(&self) -> impl Iterator<Item = &Crop> {
        self.crops.values()
    }

    /// All ids, sorted.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        self.crops.keys().map(String::as_str)
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

fn is_yaml(path: &Path) -> bool {
    let ending = path.extension();
    ending.is_some_and(|ending| ending.eq_ignore_ascii_case("yaml") || ending.eq_ignore_ascii_case("yml"))
}

/// A complaint about a crop file that some editor gave a second ending: nobody would see that it is not read.
fn misnamed(path: &Path) -> Option<Problem> {
    let stem = path.file_stem().map(Path::new).filter(|stem| is_yaml(stem) && !is_yaml(path))?;
    let title = "this crop file is not read because of the end of its name";
    Some(Problem::without_text(path, title, format!("rename it to {}", stem.display())))
}

/// The files of a folder that are not hidden, sorted by name.
fn crop_files(dir: &Path) -> io::Result<Vec<PathBuf>> {
    let mut paths = Vec::new();
    for entry in std::fs::read_dir(dir)? {
        let path = entry?.path();
        let hidden = path.file_name().is_some_and(|name| name.as_encoded_bytes().starts_with(b"."));
        if !hidden {
            paths.push(path);
        }
    }
    paths.sort();
    Ok(paths)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn own(files: &[(&str, &str)]) -> Result<Library, Problems> {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in files {
            std::fs::write(folder.path().join(name), text).unwrap();
        }
        Library::builtin().unwrap().overlay(folder.path())
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
        let path = folder.path().join("crops");
        let built_in = Library::builtin().unwrap();
        assert_eq!(built_in.clone().overlay(&path).unwrap(), built_in);
        std::fs::write(&path, "x").unwrap();
        assert!(built_in.overlay(&path).is_err());
    }
}
