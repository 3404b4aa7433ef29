//! Files that are dropped on the page: taken into the field's folder whole, or not at all.

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

use axum::extract::Multipart;
use axum::extract::multipart::MultipartError;
use formats::read_archive;
use serde_json::{Value, json};
use survey::DateRange;
use tempfile::TempDir;
use tokio::io::AsyncWriteExt;

use super::App;
use super::answer::Refused;
use super::file_names;
use super::kinds::{Kind, Recognised, recognise};
use super::settings_edit::{self, Change, Step};
use super::state::{self, slashed};
use crate::config::{Config, Visits};
use crate::{field_folder, terminal, unpacked};

/// The parts of a shapefile, by the ends of their names; the first is the one that is read.
const SHAPEFILE: [&str; 5] = ["shp", "dbf", "shx", "prj", "cpg"];
/// The most files at once.
const MOST_FILES: usize = 200;

/// Files that came, in a folder of their own within the field's, gone again with this.
pub struct Received {
    // Dropped before the field's folder, which goes as well if it was made for this and is empty.
    folder: TempDir,
    _made: MadeFolder,
    names: Vec<String>,
}

/// A folder that was made if it was missing, and goes again if it is left empty.
struct MadeFolder(Option<PathBuf>);

impl MadeFolder {
    fn new(path: &Path) -> std::io::Result<Self> {
        let is_new = !path.exists();
        fs::create_dir_all(path)?;
        Ok(MadeFolder(is_new.then(|| path.to_path_buf())))
    }
}

impl Drop for MadeFolder {
    fn drop(&mut self) {
        if let Some(path) = &self.0 {
            // Refused while it holds anything.
            let _ = fs::remove_dir(path);
        }
    }
}

/// Writes what is sent beside the field's files, under clean names.
///
/// # Errors
/// When it is too large, has no name, or cannot be written.
pub async fn receive(app: &App, mut files: Multipart) -> Result<Received, Refused> {
    let told = |error: MultipartError| Refused::new(error.status(), &error.body_text());
    let unwritable = |error: std::io::Error| {
        let shown = app.field.typed().display();
        Refused::unusable(&format!("{shown}: cannot be written ({error})"))
    };
    let made = MadeFolder::new(app.field.typed()).map_err(unwritable)?;
    let folder = tempfile::Builder::new().prefix(".loosedepth-").tempdir_in(app.field.typed());
    let mut received =
        Received { folder: folder.map_err(unwritable)?, _made: made, names: Vec::new() };
    while let Some(mut sent) = files.next_field().await.map_err(told)? {
        let Some(given) = sent.file_name() else { continue };
        let name = file_names::clean(given)?;
        if received.names.iter().any(|it| it.eq_ignore_ascii_case(&name)) {
            return Err(Refused::unusable(&format!("two files are called {name}; rename one")));
        }
        if received.names.len() == MOST_FILES {
            return Err(Refused::unusable("more than 200 files at once; drop fewer"));
        }
        let path = received.folder.path().join(&name);
        let mut file = tokio::fs::File::create(&path).await.map_err(unwritable)?;
        while let Some(bytes) = sent.chunk().await.map_err(told)? {
            file.write_all(&bytes).await.map_err(unwritable)?;
        }
        file.sync_all().await.map_err(unwritable)?;
        received.names.push(name);
    }
    received.names.sort();
    Ok(received)
}

/// A file with those that belong to it, and where they go.
struct Taken {
    /// The file that is read.
    name: String,
    recognised: Recognised,
    /// Each file with its new place.
    moves: Vec<(PathBuf, PathBuf)>,
    /// Parts of an older shapefile of its name, which would be read as its own.
    leave: Vec<PathBuf>,
}

/// Takes files into the field's folder.
///
/// # Errors
/// When one cannot be read, or its place is taken and not named in `replace`; then nothing is taken.
pub fn take(
    app: &App,
    received: &Received,
    said: Option<&str>,
    replace: &[String],
) -> Result<Vec<Value>, Refused> {
    let said = match said {
        None => None,
        Some(word) => match Kind::of(word) {
            Some(kind) => Some(kind),
            None => return Err(Refused::unusable(&format!("{word:?} is no kind of file"))),
        },
    };
    if received.names.is_empty() {
        return Err(Refused::unusable("no file came; drop one on the page"));
    }
    let _held = app.changing();
    let within = received.folder.path();
    let hidden = |error: Box<dyn Error>| Refused::of(&*error, Some(within));
    let is_settings = |name: &String| name == crate::config::NAME;
    let config = match received.names.iter().any(is_settings) {
        // What is dropped may put right what is wrong.
        true => app.field.config().unwrap_or_default(),
        false => app.field.config()?,
    };
    let mut all = Vec::new();
    for (name, parts) in groups(&received.names) {
        let recognised = recognise(&within.join(&name), &config, said).map_err(hidden)?;
        let places = places(app, &config, &recognised, &name, &parts)?;
        let moves = parts.iter().map(|part| within.join(part)).zip(places).collect();
        let mut taken = Taken { name, recognised, moves, leave: Vec::new() };
        taken.leave = taken.old_parts();
        all.push(taken);
    }
    refuse_shared_days(app, &config, &all)?;
    refuse_taken(app, &all, replace)?;
    let mut placed = Placed::beside(within)?;
    for taken in &all {
        match taken.recognised.kind {
            Kind::Archive => {
                unpack_into(app, &within.join(&taken.name), &mut placed).map_err(hidden)?;
            }
            _ => taken.place(&mut placed)?,
        }
    }
    name_in_settings(app, &all)?;
    placed.keep();
    Ok(all.iter().map(|taken| taken.json(app)).collect())
}

/// Files with those that belong to them: the parts of a shapefile.
fn groups(names: &[String]) -> Vec<(String, Vec<String>)> {
    let split = |name: &str| {
        let (stem, end) = name.rsplit_once('.').unwrap_or((name, ""));
        (stem.to_owned(), end.to_lowercase())
    };
    let is_part = |end: &str| SHAPEFILE.contains(&end);
    let mut groups = Vec::new();
    for name in names {
        let (stem, end) = split(name);
        let has_main = names.iter().any(|other| split(other) == (stem.clone(), "shp".into()));
        if end == "shp" {
            let of_it = |other: &&String| {
                let (other, end) = split(other);
                other == stem && is_part(&end)
            };
            groups.push((name.clone(), names.iter().filter(of_it).cloned().collect()));
        } else if !(is_part(&end) && has_main) {
            groups.push((name.clone(), vec![name.clone()]));
        }
    }
    groups
}

/// Where the parts of a file go.
fn places(
    app: &App,
    config: &Config,
    recognised: &Recognised,
    name: &str,
    parts: &[String],
) -> Result<Vec<PathBuf>, Refused> {
    let field = &app.field;
    let kind = recognised.kind;
    if kind == Kind::Visit {
        let folder = match &config.visits {
            Some(Visits::Files(_)) => field.join(field_folder::VISITS),
            _ => field_folder::visits_folder(field.typed(), config),
        };
        let parts = parts.iter().map(|part| match field_folder::may_be_survey(Path::new(part)) {
            true => folder.join(part),
            false if parts.len() > 1 => folder.join(part),
            // It was read, so it is a survey whatever its name; in the folder the name must say so.
            false => folder.join(format!("{part}.txt")),
        });
        return parts.map(|place| inside(app, place)).collect();
    }
    let named = kind.setting(config).and_then(|(_, file)| file.cloned());
    let usual = kind.file_name().map(|name| field.join(name));
    match named.or(usual) {
        Some(place) if parts.len() == 1 => Ok(vec![inside(app, place)?]),
        Some(_) => Err(Refused::unusable(&format!("{name} is of more than one file"))),
        None => Ok(Vec::new()),
    }
}

/// A place within the field's folder: what a settings file names outside of it is not written from the page.
fn inside(app: &App, place: PathBuf) -> Result<PathBuf, Refused> {
    app.field.inside(&place, "put the file there by hand")?;
    Ok(place)
}

/// One visit is one file: two that hold one day could not be read afterwards.
fn refuse_shared_days(app: &App, config: &Config, all: &[Taken]) -> Result<(), Refused> {
    let is_replaced =
        |path: &Path| all.iter().flat_map(|taken| &taken.moves).any(|(_, place)| place == path);
    let mut known: Vec<(String, DateRange)> = Vec::new();
    if field_folder::has_surveys(app.field.typed(), config) {
        let visits = state::read_visits(&app.field, config)?;
        let kept = visits.into_iter().filter(|visit| !is_replaced(&visit.path));
        known.extend(kept.map(|visit| (visit.path.display().to_string(), visit.days)));
    }
    for taken in all {
        for days in &taken.recognised.days {
            let overlaps = |(_, other): &&(String, DateRange)| {
                days.first() <= other.last() && other.first() <= days.last()
            };
            if let Some((file, _)) = known.iter().find(overlaps) {
                let (name, day) = (&taken.name, days.first());
                return Err(Refused::unusable(&format!(
                    "{file} and {name} both hold the visit of {day}; one visit is one file"
                )));
            }
        }
        known.extend(taken.recognised.days.iter().map(|days| (taken.name.clone(), *days)));
    }
    Ok(())
}

/// Nothing of the user's is replaced unasked; the very same file may come again.
fn refuse_taken(app: &App, all: &[Taken], replace: &[String]) -> Result<(), Refused> {
    let below = |place: &Path| slashed(place.strip_prefix(app.field.typed()).unwrap_or(place));
    let is_asked = |place: &Path| replace.contains(&below(place));
    let mut there: Vec<&Path> = Vec::new();
    let moves: Vec<&(PathBuf, PathBuf)> = all.iter().flat_map(|taken| &taken.moves).collect();
    for (k, (from, place)) in moves.iter().enumerate() {
        let shown = place.display();
        if moves[..k].iter().any(|(_, other)| other == place) {
            return Err(Refused::unusable(&format!("two of the files are for {shown}")));
        }
        if place.is_dir() {
            return Err(Refused::unusable(&format!("{shown} is a folder; move it away")));
        }
        if place.exists() && !is_asked(place) && !is_same(from, place) {
            there.push(place);
        }
    }
    there.extend(all.iter().flat_map(|taken| &taken.leave).map(PathBuf::as_path));
    there.retain(|place| !is_asked(place));
    if there.is_empty() {
        return Ok(());
    }
    let shown: Vec<String> = there.iter().map(|place| place.display().to_string()).collect();
    let what = match &shown[..] {
        [one] => format!("{one} is there already; replace it, or leave the new file out"),
        _ => format!(
            "{} are there already; replace them, or leave the new files out",
            shown.join(", ")
        ),
    };
    Err(Refused::all_exist(&what, there.into_iter().map(below).collect()))
}

fn is_same(one: &Path, other: &Path) -> bool {
    let length = |path: &Path| fs::metadata(path).ok().map(|about| about.len());
    length(one) == length(other) && fs::read(one).ok() == fs::read(other).ok()
}

/// Files that were given their places, and go back with this unless they are kept. All lie on one disk, so each is
/// there whole or not at all.
struct Placed {
    /// Where old files wait.
    old: PathBuf,
    /// Each place with what it held.
    done: Vec<(PathBuf, Option<PathBuf>)>,
    /// Folders that were made, gone again if they are empty.
    made: Vec<MadeFolder>,
}

impl Placed {
    fn beside(within: &Path) -> Result<Self, Refused> {
        let old = within.join(".old");
        fs::create_dir(&old).map_err(|error| unwritable(&old, &error))?;
        Ok(Placed { old, done: Vec::new(), made: Vec::new() })
    }

    /// Moves a file or a new folder to its place.
    fn put(&mut self, from: &Path, place: &Path) -> Result<(), Refused> {
        let mut put = || {
            if let Some(folder) = place.parent() {
                self.made.push(MadeFolder::new(folder)?);
            }
            let kept = place.exists().then(|| self.next_old());
            if let Some(kept) = &kept {
                fs::copy(place, kept)?;
            }
            fs::rename(from, place)?;
            self.done.push((place.to_path_buf(), kept));
            std::io::Result::Ok(())
        };
        put().map_err(|error| unwritable(place, &error))
    }

    /// Takes a file away.
    fn leave(&mut self, place: &Path) -> Result<(), Refused> {
        let kept = self.next_old();
        fs::rename(place, &kept).map_err(|error| unwritable(place, &error))?;
        self.done.push((place.to_path_buf(), Some(kept)));
        Ok(())
    }

    fn next_old(&self) -> PathBuf {
        self.old.join(self.done.len().to_string())
    }

    fn keep(mut self) {
        self.done.clear();
    }
}

impl Drop for Placed {
    fn drop(&mut self) {
        // The last first: a place may have been used twice.
        while let Some((place, kept)) = self.done.pop() {
            let back = match kept {
                Some(kept) => fs::rename(kept, &place),
                None => fs::rename(&place, self.next_old()),
            };
            if let Err(error) = back {
                terminal::print_notes(&[unwritable(&place, &error).text()]);
            }
        }
    }
}

fn unwritable(place: &Path, error: &std::io::Error) -> Refused {
    Refused::unusable(&format!("{}: cannot be written ({error})", place.display()))
}

/// Unpacks an archive into a folder that is no field yet.
fn unpack_into(app: &App, archive: &Path, placed: &mut Placed) -> Result<(), Box<dyn Error>> {
    let field = &app.field;
    let is_free = |name: &str| !field.join(name).exists();
    let read = read_archive(archive)?;
    let first = |name: &str| name.split('/').next().unwrap_or_default().to_owned();
    let mut entries: Vec<String> = read.files().iter().map(|file| first(&file.name)).collect();
    entries.sort();
    entries.dedup();
    if let Some(there) = entries.iter().find(|name| !is_free(name)) {
        return Err(format!(
            "{}: {} is there already; an archive needs a folder of its own",
            archive.display(),
            field.join(there).display()
        )
        .into());
    }
    let unpacked = tempfile::Builder::new().prefix(".loosedepth-").tempdir_in(field.typed())?;
    let folder = unpacked.path().join("field");
    unpacked::unpack_trusting_nothing(&read, archive, &folder)?;
    for entry in entries {
        placed.put(&folder.join(&entry), &field.join(&entry)).map_err(|it| it.text())?;
    }
    Ok(())
}

/// Names new files in the settings file, which the first of them makes.
fn name_in_settings(app: &App, all: &[Taken]) -> Result<(), Refused> {
    let config = app.field.config()?;
    let mut changes: Vec<Change> = Vec::new();
    let mut set = |key: &str, to: Value| {
        if !changes.iter().any(|change| matches!(&change.at[0], Step::Key(it) if it == key)) {
            changes.push(Change { at: vec![Step::Key(key.to_owned())], to });
        }
    };
    let below = |path: &Path| slashed(path.strip_prefix(app.field.typed()).unwrap_or(path));
    for taken in all {
        let kind = taken.recognised.kind;
        if let Some((key, None)) = kind.setting(&config)
            && let Some((_, place)) = taken.moves.first()
        {
            set(key, json!(below(place)));
        }
        match (kind, &config.visits) {
            (Kind::Visit, None) => set("visits", json!(field_folder::VISITS)),
            (Kind::Visit, Some(Visits::Files(files))) => {
                let new = taken.moves.iter().map(|(_, place)| place);
                let new = new.filter(|place| field_folder::may_be_survey(place));
                let all = files.iter().chain(new).map(|path| below(path));
                let mut all: Vec<String> = all.collect();
                all.dedup();
                set("visits", json!(all));
            }
            _ => {}
        }
    }
    match changes.is_empty() {
        true => Ok(()),
        false => settings_edit::set(app, &changes),
    }
}

impl Taken {
    /// Parts that an older shapefile of its name has and it has not: its projection, say, would place the new
    /// readings elsewhere.
    fn old_parts(&self) -> Vec<PathBuf> {
        let is_of_set = |path: &Path| {
            let end = path.extension().unwrap_or_default().to_string_lossy().to_lowercase();
            SHAPEFILE.contains(&end.as_str())
        };
        let main = self.moves.iter().map(|(_, place)| place).find(|place| {
            place.extension().is_some_and(|end| end.eq_ignore_ascii_case(SHAPEFILE[0]))
        });
        let Some((main, folder)) = main.and_then(|main| Some((main, main.parent()?))) else {
            return Vec::new();
        };
        let entries = fs::read_dir(folder).into_iter().flatten().flatten();
        let mut old: Vec<PathBuf> = entries
            .map(|entry| folder.join(entry.file_name()))
            .filter(|path| path.file_stem() == main.file_stem() && is_of_set(path))
            .filter(|path| self.moves.iter().all(|(_, place)| place != path))
            .filter(|path| path.is_file())
            .collect();
        old.sort();
        old
    }

    fn place(&self, placed: &mut Placed) -> Result<(), Refused> {
        // First, since `x.PRJ` and `x.prj` are one file on some disks.
        self.leave.iter().try_for_each(|old| placed.leave(old))?;
        self.moves.iter().try_for_each(|(from, place)| placed.put(from, place))
    }

    fn json(&self, app: &App) -> Value {
        let saved = self.moves.iter().find(|(from, _)| from.ends_with(&self.name));
        let saved =
            saved.map(|(_, place)| slashed(place.strip_prefix(app.field.typed()).unwrap_or(place)));
        json!({
            "name": self.name,
            "kind": self.recognised.kind.word(),
            "saved": saved,
            "words": self.recognised.words,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_parts_of_a_shapefile_are_one() {
        let names = ["a.DBF", "a.shp", "a.shx", "b.csv", "b.dbf", "c.prj"].map(String::from);
        let found = groups(&names);
        let of_a = ["a.DBF", "a.shp", "a.shx"].map(String::from).to_vec();
        let alone = |name: &str| (name.to_owned(), vec![name.to_owned()]);
        let expected = [("a.shp".to_owned(), of_a), alone("b.csv"), alone("b.dbf"), alone("c.prj")];
        assert_eq!(found, expected);
    }
}
