//! The command line: parse it, call one function.

fn main() -> std::process::ExitCode {
    wetside::cli::run()
}
