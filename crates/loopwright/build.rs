//! Makes the folder that the front end is built into, so that the program can be built without it.

fn main() {
    println!("cargo:rerun-if-changed=build.rs");
    println!("cargo:rerun-if-changed=../../web/dist");
    if let Err(error) = std::fs::create_dir_all("../../web/dist") {
        println!("cargo:warning=the folder of the front end cannot be made: {error}");
    }
}
