//! Is every page whole, on a desk and on a phone? Nothing wider than the window, one heading, no serious finding of
//! accessibility; a picture of each is kept.

use crate::driver::{Browser, PAGES, Pages, Size};

async fn look(size: Size) {
    let pages = Pages::of_the_demo();
    let browser = Browser::open(&pages, size).await;
    for (name, path) in PAGES {
        browser.go(path).await;
        browser.shot(name).await;
        browser.accessible().await;
        // A page that is not there is told as an error by the browser, too.
        let complaints = browser.complaints().await;
        assert!(*name == "missing" || complaints.is_empty(), "{path}: {complaints:?}");
    }
    browser.close().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
async fn every_page_is_whole_on_a_desk() {
    look(Size::Desk).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
async fn every_page_is_whole_on_a_phone() {
    look(Size::Phone).await;
}
