//! Arguments of `open`.

use std::path::PathBuf;

use clap::Args;

#[derive(Debug, Args)]
pub struct OpenArgs {
    /// Folder of a field with its loosedepth.toml, or an empty or new folder, which becomes one as
    /// outline and readings are dropped on the page
    #[arg(value_name = "FOLDER", default_value = ".")]
    pub folder: PathBuf,

    /// Port to listen on at 127.0.0.1, which no other machine can reach [default: any that is free]
    #[arg(long, value_name = "N")]
    pub port: Option<u16>,

    /// Prints the page's address and leaves the browser alone: on a machine with several users, since
    /// the others can see the address that a browser is started with
    #[arg(long)]
    pub no_browser: bool,
}
