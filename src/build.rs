//! Settings of the link that Cargo's own file has no words for.

fn main() {
    println!("cargo::rerun-if-changed=src/build.rs");
    let of = |name: &str| std::env::var(format!("CARGO_CFG_TARGET_{name}")).unwrap_or_default();
    if of("OS") == "linux" && of("ENV") == "gnu" {
        // Addresses to be moved at start as a bit map: 2 MiB less of a file of 35.
        println!("cargo::rustc-link-arg-bins=-Wl,-z,pack-relative-relocs");
    }
}
