//! As much of the W3C WebDriver protocol as these tests speak, over plain HTTP, with the protocol's own extension for Chromium where size,
//! colours and paper are to be pretended.

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::{Value, json};

/// A browser without a window, and the driver that steers it; both end with this.
pub struct Browser {
    driver: Child,
    agent: ureq::Agent,
    session: String,
    _profile: tempfile::TempDir,
}

/// The driver's name.
const DRIVER: &str = "chromedriver";

impl Browser {
    /// A browser, where the machine has one with its driver. Without one the test is left out with a word, unless NEED_BROWSER is set, as
    /// it is where every change is checked.
    pub fn start(test: &str) -> Option<Browser> {
        let path = std::env::var_os("PATH");
        let program = ampledger::browser::find(None, path.as_deref());
        let driver = ampledger::browser::find(Some(Path::new(DRIVER)), path.as_deref());
        match (program, driver) {
            (Ok(program), Ok(driver)) => Some(Browser::begin(&program, &driver)),
            _ => {
                assert!(std::env::var_os("NEED_BROWSER").is_none(), "{test}: no chromium with {DRIVER} on this machine");
                eprintln!("left out: {test}; it needs chromium and {DRIVER}");
                None
            }
        }
    }

    fn begin(program: &Path, driver: &Path) -> Browser {
        let profile = tempfile::tempdir().unwrap();
        let mut driver = Command::new(driver).arg("--port=0").stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        let lines = BufReader::new(driver.stdout.take().unwrap()).lines();
        // "ChromeDriver was started successfully on port 41173."
        let port = lines.map(Result::unwrap).find_map(|line| {
            let port = line.strip_suffix('.')?.rsplit(' ').next()?;
            line.contains("started successfully").then(|| port.parse::<u16>().ok()).flatten()
        });
        let base = format!("http://127.0.0.1:{}", port.expect("the driver says which port it listens on"));
        let mut args = vec![
            "--headless".to_owned(),
            "--disable-gpu".to_owned(),
            // Their width is the machine's and not the page's.
            "--hide-scrollbars".to_owned(),
            "--disable-quic".to_owned(),
            "--no-first-run".to_owned(),
            "--disable-background-networking".to_owned(),
            "--disable-component-update".to_owned(),
            "--disable-sync".to_owned(),
            format!("--user-data-dir={}", profile.path().display()),
        ];
        #[cfg(unix)]
        if std::os::unix::fs::MetadataExt::uid(&std::fs::metadata(profile.path()).unwrap()) == 0 {
            // A browser refuses its sandbox to root.
            args.push("--no-sandbox".to_owned());
        }
        let wanted = json!({"capabilities": {"alwaysMatch": {
            "browserName": "chrome",
            "goog:chromeOptions": {"binary": program, "args": args},
            "goog:loggingPrefs": {"browser": "ALL"},
        }}});
        let agent =
            ureq::Agent::config_builder().timeout_global(Some(Duration::from_secs(120))).http_status_as_error(false).build().new_agent();
        let mut browser = Browser { driver, agent, session: format!("{base}/session"), _profile: profile };
        let answer = browser.post("", &wanted);
        browser.session = format!("{base}/session/{}", answer["sessionId"].as_str().unwrap());
        browser
    }

    fn post(&self, command: &str, body: &Value) -> Value {
        let mut answer = self.agent.post(format!("{}{command}", self.session)).send_json(body).unwrap();
        let mut answer: Value = answer.body_mut().read_json().unwrap();
        assert!(answer["value"].get("error").is_none(), "{command}: {answer}");
        answer["value"].take()
    }

    /// Opens a file, as somebody does who has no server.
    pub fn open(&self, file: &Path) {
        let real: PathBuf = file.canonicalize().unwrap();
        self.post("/url", &json!({"url": format!("file://{}", real.display())}));
    }

    /// What a function's body returns, run in the page.
    pub fn ask(&self, body: &str) -> Value {
        self.post("/execute/sync", &json!({"script": body, "args": []}))
    }

    /// The same for one that answers later, by calling its last argument.
    pub fn ask_later(&self, body: &str) -> Value {
        self.post("/execute/async", &json!({"script": body, "args": []}))
    }

    /// What the page has complained of since it was last asked.
    pub fn complaints(&self) -> Vec<String> {
        let log = self.post("/se/log", &json!({"type": "browser"}));
        log.as_array().unwrap().iter().map(|entry| entry["message"].as_str().unwrap().to_owned()).collect()
    }

    fn pretend(&self, command: &str, params: &Value) {
        self.post("/goog/cdp/execute", &json!({"cmd": command, "params": params}));
    }

    /// A screen of that width, pixels.
    pub fn wide(&self, width: u32) {
        self.pretend(
            "Emulation.setDeviceMetricsOverride",
            &json!({"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": false}),
        );
    }

    /// Paper or screen, and the colours that the reader prefers.
    pub fn media(&self, media: &str, scheme: &str) {
        let features = json!([{"name": "prefers-color-scheme", "value": scheme}]);
        self.pretend("Emulation.setEmulatedMedia", &json!({"media": media, "features": features}));
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.agent.delete(&self.session).call();
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}
