//! Writing a file whole or not at all.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::Path;

/// Writes `bytes` to `path`, making its folder if there is none. Whatever happens meanwhile, the file
/// holds either what it held before or all of `bytes`: they go to a temporary file beside it, which
/// takes its name once it is safely on the disk. A link is followed, and permissions are kept.
///
/// # Errors
/// If the folder cannot be made, or the file not be written or renamed; the old file is then unharmed.
pub fn whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    // Renaming onto a link would replace the link and leave the file it points to as it was.
    let followed = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    let folder = match followed.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    fs::create_dir_all(folder)?;
    let mut temporary = builder().tempfile_in(folder)?;
    temporary.write_all(bytes)?;
    if let Ok(old) = fs::metadata(&followed) {
        temporary.as_file().set_permissions(old.permissions())?;
    }
    temporary.as_file().sync_all()?;
    temporary.persist(&followed)?;
    sync_folder(folder)
}

/// Writes `bytes` to a new file at `path`, whole or not at all, making its folder if there is none.
///
/// # Errors
/// If a file of that name exists, which then stays as it is, or the new one cannot be written.
pub fn new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    fs::create_dir_all(folder)?;
    let mut temporary = builder().tempfile_in(folder)?;
    temporary.write_all(bytes)?;
    temporary.as_file().sync_all()?;
    temporary.persist_noclobber(path)?;
    sync_folder(folder)
}

/// Other people may read what we write, as with any file; temporary files are private by default.
#[cfg(unix)]
fn builder() -> tempfile::Builder<'static, 'static> {
    use std::os::unix::fs::PermissionsExt;
    let mut builder = tempfile::Builder::new();
    builder.prefix(".sowtide-").permissions(fs::Permissions::from_mode(0o666));
    builder
}

#[cfg(not(unix))]
fn builder() -> tempfile::Builder<'static, 'static> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".sowtide-");
    builder
}

/// The new name is safe only when the folder is on the disk, too. Only Unix lets one ask for that.
fn sync_folder(folder: &Path) -> io::Result<()> {
    if cfg!(unix) {
        File::open(folder)?.sync_all()?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn missing_folders_are_made_and_old_text_is_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("out/deep/plan.yaml");
        whole(&path, b"a much longer first text").unwrap();
        whole(&path, b"second").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"second");
        let beside = fs::read_dir(path.parent().unwrap()).unwrap().count();
        assert_eq!(beside, 1, "no temporary file is left");
    }

    #[test]
    fn a_new_file_replaces_none() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("plans/plan-0001.yaml");
        new(&path, b"first").unwrap();
        assert_eq!(new(&path, b"second").unwrap_err().kind(), io::ErrorKind::AlreadyExists);
        assert_eq!(fs::read(&path).unwrap(), b"first");
        assert_eq!(fs::read_dir(path.parent().unwrap()).unwrap().count(), 1);
    }

    #[test]
    fn a_failed_write_leaves_nothing_behind() {
        let folder = tempfile::tempdir().unwrap();
        // A folder stands where the file should go, so renaming fails.
        let path = folder.path().join("plan.yaml");
        fs::create_dir(&path).unwrap();
        assert!(whole(&path, b"text").is_err());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[cfg(unix)]
    #[test]
    fn links_are_followed_and_permissions_kept() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let folder = tempfile::tempdir().unwrap();
        let (path, link) = (folder.path().join("plan.yaml"), folder.path().join("link.yaml"));
        whole(&path, b"old").unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
        symlink(&path, &link).unwrap();
        whole(&link, b"new").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"new");
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    }
}
