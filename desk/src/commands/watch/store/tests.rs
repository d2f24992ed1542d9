//! A store keeps to what a folder does, by the crate's own store in memory, which
//! stands for any: atomic objects, marks of their state, parts of large ones.
#![allow(clippy::unwrap_used, reason = "a test may stop at what it did not expect")]

use object_store::memory::InMemory;

use super::*;
use crate::commands::watch::tests::keeps_to_it;

#[test]
fn a_store_keeps_whole_files_and_tells_new_from_old_also_in_parts() {
    let memory: Arc<dyn ObjectStore> = Arc::new(InMemory::new());
    for folder in ["", "golf", "golf/club"] {
        let store = Store::on(Arc::clone(&memory), "bucket", Path::parse(folder).unwrap()).unwrap();
        // Larger than two parts, so that it goes up and comes down in three.
        keeps_to_it(&store, 2 * PART + 12_345);
        let one_part = vec![7; PART];
        store
            .put("whole-part.chalk", &mut |path| {
                std::fs::write(path, &one_part).unwrap();
                Ok(())
            })
            .unwrap();
        let mut back = Vec::new();
        store.open("whole-part.chalk").unwrap().unwrap().read_to_end(&mut back).unwrap();
        assert!(back == one_part);
    }
}

#[test]
fn what_is_written_anew_while_it_is_fetched_is_left_for_the_next_turn() {
    let memory: Arc<dyn ObjectStore> = Arc::new(InMemory::new());
    let store = Store::on(Arc::clone(&memory), "bucket", Path::from("golf")).unwrap();
    let path = store.path("a.chalk");
    store.runtime.block_on(memory.put(&path, vec![1_u8; 10].into())).unwrap();
    let old = store.runtime.block_on(memory.head(&path)).unwrap().e_tag;
    store.runtime.block_on(memory.put(&path, vec![2_u8; 10].into())).unwrap();
    let options = GetOptions { if_match: old, ..GetOptions::default() };
    let asked = store.runtime.block_on(memory.get_opts(&path, options));
    assert!(matches!(asked, Err(Error::Precondition { .. })), "a store that knows no marks can't be trusted");
}

#[test]
fn an_address_names_bucket_and_folder() {
    let store = Store::at("s3://club/golf/shared/").unwrap();
    assert_eq!(store.shown("a.chalk"), "s3://club/golf/shared/a.chalk");
    assert_eq!(Store::at("s3://club").unwrap().shown("a.chalk"), "s3://club/a.chalk");
}
