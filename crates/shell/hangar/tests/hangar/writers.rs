//! Do two programs that write to the same hangar at once both get everything kept?

use hangar::Hangar;

use crate::child;

const EACH: u32 = 20;

#[test]
fn two_processes_that_write_at_once_lose_nothing() {
    if let Some(file) = child::file() {
        let writer: u32 = std::env::var("HANGAR_TEST_WRITER").unwrap().parse().unwrap();
        child::keep(&file, writer, 0..EACH);
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    // The file is not there yet: both make it, too.
    let file = folder.path().join("new folder").join("a.hangar");
    let start = |writer: u32| {
        child::command("writers::two_processes_that_write_at_once_lose_nothing", &file)
            .env("HANGAR_TEST_WRITER", writer.to_string())
            .spawn()
            .unwrap()
    };
    let processes: Vec<_> = [1, 2].map(|writer| (writer, start(writer))).into();
    for (writer, process) in processes {
        let output = process.wait_with_output().unwrap();
        assert!(output.status.success(), "writer {writer}: {}", String::from_utf8_lossy(&output.stderr));
        let hangar = Hangar::open(&file).unwrap();
        let said = String::from_utf8(output.stdout).unwrap();
        let kept: Vec<_> = said.lines().filter_map(child::parse).collect();
        assert_eq!(kept.len(), child::KINDS * EACH as usize);
        for kept in &kept {
            child::require(&hangar, writer, kept);
        }
    }
    let hangar = Hangar::open(&file).unwrap();
    assert_eq!(hangar.names().unwrap(), ["writer 1", "writer 2"]);
    assert_eq!(hangar.examine().unwrap(), []);
}
