//! A book in a git repository of its own. Needs the program `git`.

use std::path::Path;
use std::process::Command;

use super::TestBook;

/// Settings of whoever runs the tests, and of a hook that they may run in: none of them is to matter.
pub const GIT_SETTINGS: [&str; 4] = ["GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_PREFIX"];

/// A book in a repository of its own.
pub struct Repository(pub TestBook);

impl Repository {
    /// The book, committed; nothing, with a message, where there is no git.
    pub fn of(book: TestBook) -> Option<Repository> {
        if Command::new("git").arg("--version").output().is_err() {
            println!("skipped: there is no git on this machine");
            return None;
        }
        let repository = Repository(book);
        repository.git(&["init", "--quiet", "--initial-branch=main"]);
        repository.commit("the book");
        Some(repository)
    }

    /// Whether git did it, and what it said.
    pub fn try_git(&self, args: &[&str]) -> (bool, String) {
        git_in(self.0.root(), args)
    }

    pub fn git(&self, args: &[&str]) -> String {
        let (done, said) = self.try_git(args);
        assert!(done, "git {args:?}: {said}");
        said
    }

    pub fn commit(&self, message: &str) {
        self.git(&["add", "--all"]);
        self.git(&["commit", "--quiet", "--message", message]);
    }
}

/// Runs git in a folder, with an identity and without anybody's settings.
pub fn git_in(folder: &Path, args: &[&str]) -> (bool, String) {
    let identity = ["-c", "user.name=A. N. Other", "-c", "user.email=a@example.invalid", "-c", "commit.gpgsign=false"];
    let mut git = Command::new("git");
    git.args(identity).args(args).current_dir(folder).env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_NOSYSTEM", "1");
    for setting in GIT_SETTINGS {
        git.env_remove(setting);
    }
    let output = git.output().unwrap();
    (output.status.success(), format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr)))
}
