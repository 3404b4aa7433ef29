//! `loosedepth open`: the local page.

use std::error::Error;
use std::net::{Ipv4Addr, TcpListener};

use crate::args::OpenArgs;
use crate::exit::Exit;
use crate::open::{App, browser, serve};
use crate::terminal;

/// Serves the page until Ctrl-C.
pub fn run(args: &OpenArgs) -> Result<Exit, Box<dyn Error>> {
    let wanted = args.port.unwrap_or(0);
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, wanted)).map_err(|error| {
        format!("port {wanted} of 127.0.0.1 cannot be used ({error}); give another with --port N")
    })?;
    let app = App::of(&args.folder, listener.local_addr()?.port())?;
    let address = app.address();
    terminal::print(&format!(
        "{} is open at {address}\n\
         The page is for this machine alone: nothing leaves it. What is chosen there is kept in {}.\n\
         End with Ctrl-C.",
        app.field.absolute().display(),
        app.field.page_file().display(),
    ))?;
    if !args.no_browser
        && let Err(problem) = browser::show(&address)
    {
        terminal::print_notes(&[problem]);
    }
    serve(&app, listener)?;
    Ok(Exit::Done)
}
