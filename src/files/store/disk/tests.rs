use super::*;
use std::sync::atomic::{AtomicU32, Ordering};

fn here() -> (tempfile::TempDir, Disk) {
    let folder = tempfile::tempdir().unwrap();
    let disk = Disk::at(folder.path());
    (folder, disk)
}

fn silent() {}

#[test]
fn missing_folders_are_made_and_old_text_is_replaced() {
    let (folder, disk) = here();
    disk.write("out/deep/plan.yaml", b"a much longer first text").unwrap();
    disk.write("out/deep/plan.yaml", b"second").unwrap();
    assert_eq!(disk.read("out/deep/plan.yaml").unwrap().unwrap(), b"second");
    assert_eq!(disk.names("out/deep").unwrap(), ["plan.yaml"], "no temporary file is left");
    assert_eq!(disk.names("none").unwrap(), Vec::<String>::new());
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn a_new_file_replaces_none() {
    let (_folder, disk) = here();
    disk.create("plans/plan-0001.yaml", b"first").unwrap();
    assert_eq!(
        disk.create("plans/plan-0001.yaml", b"second").unwrap_err().kind(),
        io::ErrorKind::AlreadyExists
    );
    assert_eq!(disk.read("plans/plan-0001.yaml").unwrap().unwrap(), b"first");
    assert_eq!(disk.names("plans").unwrap().len(), 1);
}

#[test]
fn a_failed_write_leaves_nothing_behind() {
    let (folder, disk) = here();
    // A folder stands where the file should go, so renaming fails.
    fs::create_dir(folder.path().join("plan.yaml")).unwrap();
    assert!(disk.write("plan.yaml", b"text").is_err());
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn only_one_at_a_time() {
    let (_folder, disk) = here();
    let inside = AtomicU32::new(0);
    std::thread::scope(|scope| {
        for _ in 0..8 {
            scope.spawn(|| {
                for _ in 0..5 {
                    let lock = disk.lock(&silent).unwrap();
                    assert_eq!(inside.fetch_add(1, Ordering::SeqCst), 0);
                    std::thread::yield_now();
                    inside.fetch_sub(1, Ordering::SeqCst);
                    drop(lock);
                }
            });
        }
    });
}

#[test]
fn who_waits_is_told_once() {
    let (_folder, disk) = here();
    let told = AtomicU32::new(0);
    let held = disk.lock(&silent).unwrap();
    std::thread::scope(|scope| {
        scope.spawn(|| {
            let tell = || {
                told.fetch_add(1, Ordering::SeqCst);
            };
            drop(disk.lock(&tell).unwrap());
        });
        std::thread::sleep(PATIENCE + 10 * PAUSE);
        drop(held);
    });
    assert_eq!(told.load(Ordering::SeqCst), 1);
}

#[test]
fn a_missing_folder_cannot_be_locked() {
    assert!(matches!(Disk::at("no/such/folder").lock(&silent), Err(LockError::Unwritable(_))));
}

#[test]
fn what_an_ended_command_left_is_swept_away_and_work_at_hand_is_not() {
    let (folder, disk) = here();
    disk.write("plans/plan-0001.yaml", b"kept").unwrap();
    let left = folder.path().join("plans/.sowtide-abc123");
    fs::write(&left, "half").unwrap();
    let at_work = builder().tempfile_in(folder.path()).unwrap();
    at_work.as_file().lock().unwrap();
    drop(disk.lock(&silent).unwrap());
    assert!(!left.exists());
    assert!(at_work.path().exists());
    assert_eq!(disk.names("plans").unwrap(), ["plan-0001.yaml"]);
}

#[cfg(unix)]
mod unix {
    use super::*;
    use std::os::unix::fs::{PermissionsExt, symlink};

    fn mode(path: &Path) -> u32 {
        fs::metadata(path).unwrap().permissions().mode() & 0o777
    }

    #[test]
    fn links_are_followed_and_permissions_kept() {
        let (folder, disk) = here();
        let (path, link) = (folder.path().join("plan.yaml"), folder.path().join("link.yaml"));
        disk.write("plan.yaml", b"old").unwrap();
        fs::set_permissions(&path, Permissions::from_mode(0o640)).unwrap();
        symlink(&path, &link).unwrap();
        disk.write("link.yaml", b"new").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"new");
        assert_eq!(mode(&path), 0o640);
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    }

    #[test]
    fn a_link_that_leads_nowhere_is_no_missing_file() {
        let (folder, disk) = here();
        let link = folder.path().join("journal.yaml");
        symlink(folder.path().join("gone.yaml"), &link).unwrap();
        for refused in [
            disk.read("journal.yaml").map(drop),
            disk.write("journal.yaml", b"new"),
            disk.create("journal.yaml", b"new"),
        ] {
            assert!(refused.unwrap_err().to_string().contains("gone.yaml"));
        }
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert!(!folder.path().join("gone.yaml").exists());
        symlink(folder.path().join("unplugged"), folder.path().join("plans")).unwrap();
        assert!(disk.names("plans").unwrap_err().to_string().contains("unplugged"));
    }

    /// What one account makes in a folder that a group may write to, the others of the group can work with.
    #[test]
    fn a_shared_folder_is_shared_whatever_is_made_in_it() {
        let (folder, disk) = here();
        fs::set_permissions(folder.path(), Permissions::from_mode(0o775)).unwrap();
        drop(disk.lock(&silent).unwrap());
        disk.write("plan.yaml", b"plan").unwrap();
        disk.create("plans/plan-0001.yaml", b"plan").unwrap();
        for made in [".sowtide.lock", "plan.yaml", "plans", "plans/plan-0001.yaml"] {
            assert_eq!(mode(&disk.path(made)) & 0o020, 0o020, "{made}");
        }
    }

    /// A lock that another account made earlier may not be written to.
    #[test]
    fn a_lock_file_that_may_only_be_read_can_be_locked() {
        let (folder, disk) = here();
        let lock = folder.path().join(LOCK);
        fs::write(&lock, "").unwrap();
        fs::set_permissions(&lock, Permissions::from_mode(0o444)).unwrap();
        drop(disk.lock(&silent).unwrap());
    }
}
