//! The local page of `loosedepth open`: it types commands.
//!
//! What is chosen on the page becomes the arguments of a command. The same list is shown, parsed for what the page
//! draws, and run as a child of this program for the files; so they are those of the command line, byte for
//! byte, and errors are the same sentences. The page listens on 127.0.0.1, and answers under a secret in its
//! address alone.

mod answer;
mod assets;
pub mod browser;
mod choices;
mod command_line;
mod downloads;
mod dropped;
mod field;
mod file_names;
mod guard;
mod jobs;
mod kinds;
mod rates;
mod server;
mod settings_edit;
mod state;
mod strips;
mod toml_json;
mod visit_change;
mod workbench;

use std::error::Error;
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use choices::Choices;
use field::Field;
use jobs::Jobs;
pub use server::serve;
use state::SeenVisits;
use workbench::Workbench;

/// The page of one field.
pub struct App {
    /// The field.
    pub field: Field,
    token: String,
    port: u16,
    workbench: Workbench,
    jobs: Jobs,
    visits: SeenVisits,
    /// Held while a file of the field's folder is changed.
    changing: Mutex<()>,
    /// Choices that the disk did not take.
    unsaved: Mutex<Option<Choices>>,
}

impl App {
    /// The page of a field's folder, not yet served.
    ///
    /// # Errors
    /// When the folder cannot be one, or the machine gives no random numbers.
    pub fn of(folder: &Path, port: u16) -> Result<Arc<Self>, Box<dyn Error>> {
        Ok(Arc::new(App {
            field: Field::enter(folder)?,
            token: guard::token()?,
            port,
            workbench: Workbench::start(),
            jobs: Jobs::default(),
            visits: SeenVisits::default(),
            changing: Mutex::new(()),
            unsaved: Mutex::default(),
        }))
    }

    /// Waits until no other request changes a file of the field's folder, and holds off the next.
    fn changing(&self) -> MutexGuard<'_, ()> {
        self.changing.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn unsaved(&self) -> MutexGuard<'_, Option<Choices>> {
        self.unsaved.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Where the page is.
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}/{}/", self.port, self.token)
    }
}
