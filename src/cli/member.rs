//! `wetside member` and `wetside token`: letting people in from the machine itself.

use clap::{Subcommand, ValueEnum};

use crate::app::App;
use crate::clock::Clock;
use crate::config::Config;
use crate::error::Error;
use crate::members::{self, NewMember};
use crate::outbox::Mailer;
use crate::sessions::Role;

/// What to do about a member.
#[derive(Debug, Subcommand)]
pub enum MemberCommand {
    /// Invite somebody: prints the link that lets them in, and writes them a letter.
    Add {
        /// Their name.
        #[arg(long)]
        name: String,
        /// Their e-mail address.
        #[arg(long)]
        email: String,
        /// What they may do.
        #[arg(long, value_enum, default_value = "newcomer")]
        role: RoleWord,
    },
    /// Print a link that sets a new password, good for an hour.
    Reset {
        /// The member's e-mail address.
        email: String,
    },
    /// For who lost the device with their second factor and the recovery codes: take it away. They
    /// are signed out everywhere and told by letter. Make sure first that it is they who ask.
    ForgetSecondFactor {
        /// The member's e-mail address.
        email: String,
    },
    /// End all sessions and API tokens of a member, such as one whose device was stolen.
    SignOut {
        /// The member's e-mail address.
        email: String,
    },
    /// For who lost the old mailbox: print a link that makes a new address theirs, good for a
    /// day, and write it to the new address.
    Address {
        /// The member's present e-mail address.
        present: String,
        /// The new one.
        new: String,
    },
}

/// A role on the command line.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum RoleWord {
    /// Learning the room.
    Newcomer,
    /// Books alone.
    Member,
    /// Runs the studio.
    Lead,
}

impl From<RoleWord> for Role {
    fn from(word: RoleWord) -> Role {
        match word {
            RoleWord::Newcomer => Role::Newcomer,
            RoleWord::Member => Role::Member,
            RoleWord::Lead => Role::Lead,
        }
    }
}

fn open(config: Config) -> Result<App, Error> {
    let mailer = Mailer::from_config(&config)?;
    App::open(config, Clock::Real, mailer)
}

/// Does it.
///
/// # Errors
/// A sentence about what is in the way.
pub fn run(config: Config, command: MemberCommand) -> Result<(), Error> {
    let app = open(config)?;
    match command {
        MemberCommand::Add { name, email, role } => {
            let role = role.into();
            let new = NewMember { name, email, role, password_hash: None, verified: false };
            let link = members::invite_now(&app, &new)?;
            println!("Invited. Within 14 days they come in at {link}");
        }
        MemberCommand::Reset { email } => {
            let link = members::reset_now(&app, &email)?;
            println!("Within the hour a new password is set at {link}");
        }
        MemberCommand::SignOut { email } => {
            members::sign_out_now(&app, &email)?;
            println!("They are signed out everywhere, and their tokens are revoked.");
        }
        MemberCommand::ForgetSecondFactor { email } => {
            members::forget_second_factor_now(&app, &email)?;
            println!("Their password alone lets them in now. A letter tells them so.");
        }
        MemberCommand::Address { present, new } => {
            let link = members::readdress_now(&app, &present, &new)?;
            println!("Within a day the new address is agreed to at {link}");
        }
    }
    Ok(())
}

/// Issues an API token and prints it.
///
/// # Errors
/// A sentence about what is in the way.
pub fn token(config: Config, email: &str, label: &str) -> Result<(), Error> {
    let app = open(config)?;
    println!("{}", members::token_now(&app, email, label)?);
    Ok(())
}
