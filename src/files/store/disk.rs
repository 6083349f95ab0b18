//! A term's files in a folder on a disk.
//!
//! A file is written to a temporary one beside it, which takes its name once it is safely on the disk; so whoever is
//! interrupted, or reads meanwhile, finds the old file or the whole new one. Several people may share a folder: what is
//! made in it may be written to by those who may write to the folder.

use super::{Held, Lock, LockError, MOST_BYTES, Store};
use std::fs::{self, File, OpenOptions, Permissions, TryLockError};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Name of the file that is locked. It stays: removing it would let two commands lock two files of that name.
const LOCK: &str = ".sowtide.lock";
/// How names of temporary files begin.
const TEMPORARY: &str = ".sowtide-";
/// Folders in which commands write, besides the term's own.
const FOLDERS: [&str; 2] = ["plans", "out"];

/// Time after which people are told that somebody else is at work, and after which to give up. Saving takes tenths of a
/// second.
const PATIENCE: Duration = Duration::from_secs(1);
const LIMIT: Duration = Duration::from_secs(30);
const PAUSE: Duration = Duration::from_millis(20);

/// A folder.
#[derive(Debug, Clone)]
pub struct Disk {
    folder: PathBuf,
}

impl Disk {
    /// The folder at this path; an empty one is the current folder.
    pub fn at(folder: impl Into<PathBuf>) -> Self {
        Self { folder: folder.into() }
    }

    /// The folder's path.
    #[must_use]
    pub fn folder(&self) -> &Path {
        if self.folder.as_os_str().is_empty() { Path::new(".") } else { &self.folder }
    }

    /// Path of a file in it. A name that is an absolute path, such as a term file may give for a calendar, stays as it
    /// is.
    #[must_use]
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }
}

impl Store for Disk {
    fn read(&self, name: &str) -> io::Result<Option<Vec<u8>>> {
        let path = self.path(name);
        // Asked before it is opened: opening a pipe waits for who writes to it.
        match fs::metadata(&path) {
            Err(error) if is_missing(&error) => return leads_somewhere(&path).map(|()| None),
            found => is_plain(&found?)?,
        }
        let file = File::open(&path)?;
        let mut bytes = Vec::new();
        file.take(MOST_BYTES as u64 + 1).read_to_end(&mut bytes)?;
        Ok(Some(bytes))
    }

    fn names(&self, folder: &str) -> io::Result<Vec<String>> {
        let path = if folder.is_empty() { self.folder().to_path_buf() } else { self.path(folder) };
        let entries = match fs::read_dir(path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return leads_somewhere(&self.path(folder)).map(|()| Vec::new());
            }
            entries => entries?,
        };
        let names = entries.map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()));
        let mut names: Vec<String> = names.collect::<io::Result<_>>()?;
        names.sort_unstable();
        Ok(names)
    }

    fn write(&self, name: &str, bytes: &[u8]) -> io::Result<()> {
        replace(&self.path(name), bytes)
    }

    fn create(&self, name: &str, bytes: &[u8]) -> io::Result<()> {
        let path = self.path(name);
        leads_somewhere(&path)?;
        put(&path, bytes, None, |temporary| temporary.persist_noclobber(&path).map_err(|error| error.error))
    }

    fn lock(&self, waits: &dyn Fn()) -> Result<Lock<'_>, LockError> {
        let file = lock_file(self.folder())?;
        let started = Instant::now();
        let mut told = false;
        loop {
            match file.try_lock() {
                // Where the file system knows no locks, each in its own way, nothing is locked.
                Ok(()) | Err(TryLockError::Error(_)) => break,
                Err(TryLockError::WouldBlock) if started.elapsed() > LIMIT => {
                    return Err(LockError::Busy(LIMIT.as_secs()));
                }
                Err(TryLockError::WouldBlock) => std::thread::sleep(PAUSE),
            }
            if !told && started.elapsed() > PATIENCE {
                told = true;
                waits();
            }
        }
        self.sweep();
        Ok(Lock(Box::new(file)))
    }

    fn shown(&self, name: &str) -> String {
        let path = if name.is_empty() { self.folder().to_path_buf() } else { self.path(name) };
        path.display().to_string()
    }
}

impl Held for File {}

impl Disk {
    /// Makes the folder with these files. A new folder comes whole or not at all; in an empty one that is there, the last
    /// file comes last.
    ///
    /// # Errors
    /// If there is anything in the folder already, or it cannot be made.
    pub fn make_with(&self, files: &[(String, Vec<u8>)]) -> io::Result<()> {
        if !self.names("")?.is_empty() {
            return Err(io::ErrorKind::AlreadyExists.into());
        }
        let above = self.folder().parent().filter(|above| !above.as_os_str().is_empty());
        let above = above.unwrap_or(Path::new("."));
        make_folder(above)?;
        let temporary = above.join(format!("{TEMPORARY}{}", std::process::id()));
        fs::create_dir(&temporary)?;
        let made = share_folder(above, &temporary).and_then(|()| self.fill(&temporary, files));
        // Nothing is left of it unless something went wrong.
        let _ = fs::remove_dir_all(&temporary);
        made?;
        sync_folder(above)
    }

    /// Writes files into a temporary folder, which then becomes this one.
    fn fill(&self, temporary: &Path, files: &[(String, Vec<u8>)]) -> io::Result<()> {
        let inside = Self::at(temporary);
        for (name, bytes) in files {
            inside.create(name, bytes)?;
        }
        if !self.folder().is_dir() {
            return fs::rename(temporary, self.folder());
        }
        for (name, _) in files {
            let to = self.path(name);
            make_folder(to.parent().unwrap_or(self.folder()))?;
            fs::rename(inside.path(name), to)?;
        }
        Ok(())
    }

    /// Removes temporary files of commands that were ended. Who still writes to one holds a lock on it. A file that
    /// cannot be removed does no harm.
    fn sweep(&self) {
        let folders = FOLDERS.map(|name| self.path(name));
        for folder in folders.iter().map(PathBuf::as_path).chain([self.folder()]) {
            let entries = fs::read_dir(folder).into_iter().flatten().flatten();
            for entry in entries {
                if entry.file_name().to_string_lossy().starts_with(TEMPORARY)
                    && File::open(entry.path()).is_ok_and(|file| file.try_lock().is_ok())
                {
                    let _ = fs::remove_file(entry.path());
                }
            }
        }
    }
}

/// Writes a file at a path, whole or not at all, making its folder if there is none. A link is followed, and permissions
/// are kept.
///
/// # Errors
/// If the folder cannot be made, or the file not be written or renamed; the old file is then unharmed.
pub(in crate::files) fn replace(path: &Path, bytes: &[u8]) -> io::Result<()> {
    leads_somewhere(path)?;
    // Renaming onto a link would replace the link and leave the file it points to as it was.
    let followed = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    let old = fs::metadata(&followed).ok().map(|old| old.permissions());
    put(&followed, bytes, old, |temporary| temporary.persist(&followed).map_err(|error| error.error))
}

/// Writes bytes to a temporary file beside `path` and lets it take its name by `persist`.
fn put(
    path: &Path,
    bytes: &[u8],
    permissions: Option<Permissions>,
    persist: impl FnOnce(tempfile::NamedTempFile) -> io::Result<File>,
) -> io::Result<()> {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    make_folder(folder)?;
    let mut temporary = builder().tempfile_in(folder)?;
    // Tells those who sweep that somebody is at work on it. Where there are no locks, nobody sweeps.
    let _ = temporary.as_file().try_lock();
    temporary.write_all(bytes)?;
    // Also where the old file's permissions stay, the new one must belong to the group that shares the folder.
    let shared = shared_permissions(folder, temporary.as_file());
    if let Some(permissions) = permissions.or(shared) {
        temporary.as_file().set_permissions(permissions)?;
    }
    temporary.as_file().sync_all()?;
    persist(temporary)?;
    sync_folder(folder)
}

/// Refuses devices, pipes and the like. Of folders the system itself says what they are.
fn is_plain(found: &fs::Metadata) -> io::Result<()> {
    if found.is_file() || found.is_dir() {
        return Ok(());
    }
    Err(io::Error::new(io::ErrorKind::InvalidInput, "it is no file, but a device or a pipe"))
}

fn is_missing(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::NotFound | io::ErrorKind::NotADirectory)
}

/// Refuses a link whose file is not there: whoever took it for a missing file would replace the link.
fn leads_somewhere(path: &Path) -> io::Result<()> {
    match fs::read_link(path) {
        Ok(end) if fs::metadata(path).is_err_and(|error| is_missing(&error)) => {
            let message = format!("it is a link to {}, which is not there", end.display());
            Err(io::Error::new(io::ErrorKind::InvalidInput, message))
        }
        _ => Ok(()),
    }
}

/// Opens the file to lock. Who may not write to it, because another account made it, can lock it all the same.
fn lock_file(folder: &Path) -> io::Result<File> {
    let path = folder.join(LOCK);
    match OpenOptions::new().create_new(true).write(true).open(&path) {
        Ok(file) => {
            if let Some(permissions) = shared_permissions(folder, &file) {
                file.set_permissions(permissions)?;
            }
            Ok(file)
        }
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
            let writable = OpenOptions::new().write(true).open(&path);
            writable.or_else(|_| File::open(&path))
        }
        Err(error) => Err(error),
    }
}

/// Makes a folder and those above it. Who may write to the one above may write to it, too.
fn make_folder(folder: &Path) -> io::Result<()> {
    if folder.is_dir() {
        return Ok(());
    }
    let above = folder.parent().filter(|above| !above.as_os_str().is_empty());
    if let Some(above) = above {
        make_folder(above)?;
    }
    match fs::create_dir(folder) {
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists && folder.is_dir() => return Ok(()),
        made => made?,
    }
    share_folder(above.unwrap_or(Path::new(".")), folder)
}

/// Gives a new folder to the group of the one above it, with the same rights, if that group may write there.
#[cfg(unix)]
fn share_folder(above: &Path, folder: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    let Some(group) = Group::that_writes(above) else { return Ok(()) };
    if group.takes(&fs::metadata(folder)?, |gid| std::os::unix::fs::chown(folder, None, Some(gid))) {
        let mode = fs::metadata(folder)?.permissions().mode() | 0o070;
        fs::set_permissions(folder, Permissions::from_mode(mode))?;
    }
    Ok(())
}

#[cfg(not(unix))]
fn share_folder(_above: &Path, _folder: &Path) -> io::Result<()> {
    Ok(())
}

/// What a new file in a folder needs so that everybody of the group who may write to the folder may write to it.
#[cfg(unix)]
fn shared_permissions(folder: &Path, file: &File) -> Option<Permissions> {
    use std::os::unix::fs::PermissionsExt;
    let group = Group::that_writes(folder)?;
    let new = file.metadata().ok()?;
    let taken = group.takes(&new, |gid| std::os::unix::fs::fchown(file, None, Some(gid)));
    taken.then(|| Permissions::from_mode(new.permissions().mode() | 0o060))
}

#[cfg(not(unix))]
fn shared_permissions(_folder: &Path, _file: &File) -> Option<Permissions> {
    None
}

/// A group that shares a folder.
#[cfg(unix)]
struct Group(u32);

#[cfg(unix)]
impl Group {
    fn that_writes(folder: &Path) -> Option<Self> {
        use std::os::unix::fs::MetadataExt;
        let folder = fs::metadata(folder).ok()?;
        (folder.mode() & 0o020 != 0).then(|| Self(folder.gid()))
    }

    /// Whether something new belongs to the group, be it now: rights must not go to the maker's own group instead.
    fn takes(&self, new: &fs::Metadata, give: impl FnOnce(u32) -> io::Result<()>) -> bool {
        use std::os::unix::fs::MetadataExt;
        new.gid() == self.0 || give(self.0).is_ok()
    }
}

/// Other people may read what we write, as with any file; temporary files are private by default.
#[cfg(unix)]
fn builder() -> tempfile::Builder<'static, 'static> {
    use std::os::unix::fs::PermissionsExt;
    let mut builder = tempfile::Builder::new();
    builder.prefix(TEMPORARY).permissions(Permissions::from_mode(0o666));
    builder
}

#[cfg(not(unix))]
fn builder() -> tempfile::Builder<'static, 'static> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(TEMPORARY);
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
mod tests;
