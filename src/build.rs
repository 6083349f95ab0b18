//! Tells cargo to embed the crop library anew whenever a crop file comes, goes or changes.

fn main() {
    println!("cargo:rerun-if-changed=crops");
}
