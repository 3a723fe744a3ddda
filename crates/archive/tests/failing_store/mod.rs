//! A local disk on which a writer dies after a number of commits.

use std::fmt;
use std::sync::atomic::{AtomicUsize, Ordering};

use futures::stream::BoxStream;
use object_store::local::LocalFileSystem;
use object_store::path::Path;
use object_store::{
    CopyOptions, Error, GetOptions, GetResult, ListResult, MultipartUpload, ObjectMeta, ObjectStore,
    PutMultipartOptions, PutOptions, PutPayload, PutResult, Result,
};

/// After so many commits to any log, every put fails.
#[derive(Debug)]
pub(crate) struct FailingStore {
    disk: LocalFileSystem,
    commits_left: AtomicUsize,
}

impl FailingStore {
    pub(crate) fn after(commits: usize) -> Self {
        Self { disk: LocalFileSystem::new(), commits_left: AtomicUsize::new(commits) }
    }
}

impl fmt::Display for FailingStore {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("FailingStore")
    }
}

#[async_trait::async_trait]
impl ObjectStore for FailingStore {
    async fn put_opts(&self, location: &Path, payload: PutPayload, options: PutOptions) -> Result<PutResult> {
        if location.as_ref().contains("_delta_log/") {
            let left = self.commits_left.load(Ordering::SeqCst);
            if left == 0 {
                return Err(Error::Generic { store: "failing", source: "the writer died".into() });
            }
            self.commits_left.store(left - 1, Ordering::SeqCst);
        }
        self.disk.put_opts(location, payload, options).await
    }

    async fn put_multipart_opts(&self, path: &Path, options: PutMultipartOptions) -> Result<Box<dyn MultipartUpload>> {
        self.disk.put_multipart_opts(path, options).await
    }

    async fn get_opts(&self, location: &Path, options: GetOptions) -> Result<GetResult> {
        self.disk.get_opts(location, options).await
    }

    fn delete_stream(&self, locations: BoxStream<'static, Result<Path>>) -> BoxStream<'static, Result<Path>> {
        self.disk.delete_stream(locations)
    }

    fn list(&self, prefix: Option<&Path>) -> BoxStream<'static, Result<ObjectMeta>> {
        self.disk.list(prefix)
    }

    async fn list_with_delimiter(&self, prefix: Option<&Path>) -> Result<ListResult> {
        self.disk.list_with_delimiter(prefix).await
    }

    async fn copy_opts(&self, from: &Path, to: &Path, options: CopyOptions) -> Result<()> {
        self.disk.copy_opts(from, to, options).await
    }
}
