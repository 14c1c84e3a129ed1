//! The command line: one file a command.

pub mod backup;
pub mod check;
mod demo;
pub mod member;
mod plan;
pub mod serve;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

use crate::config::Config;
use crate::db::migrate;

/// Wetside: the server of a shared black-and-white darkroom.
#[derive(Debug, Parser)]
#[command(name = "wetside", version, about)]
pub struct Cli {
    /// Settings file (TOML). The environment wins over it.
    #[arg(long, global = true, env = "WETSIDE_CONFIG")]
    config: Option<PathBuf>,
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Serve the studio.
    Serve,
    /// Serve an invented studio from a fresh folder, to look around in.
    Demo(demo::Wish),
    /// Plan a day from a file, without a server.
    Plan {
        /// The day's file (JSON).
        day: PathBuf,
    },
    /// Bring the database to the newest schema.
    Migrate,
    /// Let people in from this machine.
    Member {
        #[command(subcommand)]
        command: member::MemberCommand,
    },
    /// Print an API token for a member.
    Token {
        /// The member's e-mail address.
        email: String,
        /// What the token is for.
        #[arg(long)]
        label: String,
    },
    /// Write the whole studio into one file, while it is being served.
    Backup {
        /// The file to write.
        file: PathBuf,
    },
    /// Check a backup and put it in the place of what the database holds.
    Restore {
        /// A file that `wetside backup` wrote, on either database.
        file: PathBuf,
    },
    /// Say what is wrong with settings, database and mail.
    Check {
        /// Send a test letter to this address.
        #[arg(long, value_name = "ADDRESS")]
        letter: Option<String>,
    },
}

/// Runs what the command line asks for.
#[must_use]
pub fn run() -> ExitCode {
    let cli = Cli::parse();
    if let Command::Plan { day } = &cli.command {
        return ExitCode::from(plan::run(day, &mut std::io::stdout(), &mut std::io::stderr()));
    }
    let config = match Config::read(cli.config.as_deref(), |name| std::env::var(name).ok()) {
        Ok(config) => config,
        Err(faults) => {
            for fault in faults {
                eprintln!("{fault}");
            }
            return ExitCode::from(2);
        }
    };
    let done = match cli.command {
        Command::Serve => serve::run(config),
        Command::Demo(wish) => demo::run(config, &wish),
        Command::Migrate => run_migrations(&config),
        // Done above, before any settings are read.
        Command::Plan { .. } => Ok(()),
        Command::Member { command } => member::run(config, command),
        Command::Token { email, label } => member::token(config, &email, &label),
        Command::Backup { file } => backup::backup(&config, &file),
        Command::Restore { file } => backup::restore(&config, &file),
        Command::Check { letter } => check::run(&config, letter.as_deref()),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(e) => {
            eprintln!("{}", said(&e));
            ExitCode::FAILURE
        }
    }
}

/// An error for the terminal, where the caretaker may see its cause.
fn said(e: &crate::error::Error) -> String {
    match e {
        crate::error::Error::Broken(cause) => format!("It did not work. {cause}"),
        other => other.to_string(),
    }
}

fn run_migrations(config: &Config) -> Result<(), crate::error::Error> {
    let steps = migrate::run(&config.engine)?;
    if steps.is_empty() {
        println!("The database is at the newest schema already.");
    }
    for step in steps {
        println!("Taken: {step}");
    }
    Ok(())
}
