//! An object store with the widely spoken interface of S3, used as a folder.
//!
//! The rule that must hold: a file is put whole or not at all, which stores promise
//! of every object, and is fetched whole onto this machine before the book takes any
//! of it in: no lock of the book ever waits for a network. Memory stays bounded,
//! however large an object somebody puts there. Start at [`Store::at`].

use std::fs::File;
use std::io::{BufReader, Read, Seek, SeekFrom, Write};
use std::path::Path as FilePath;
use std::sync::Arc;
use std::time::Duration;

use chalkface_core::book::BookError;
use object_store::aws::{AmazonS3Builder, AmazonS3ConfigKey};
use object_store::path::Path;
use object_store::{
    ClientConfigKey, Error, GetOptions, GetRange, ObjectStore, ObjectStoreExt, RetryConfig, WriteMultipart,
};
use tokio::runtime::{Builder, Runtime};

use super::STORE;
use super::place::{Found, Place, is_exchange_file};
use crate::error::DeskError;

/// What is fetched or sent at a time; stores ask for parts of at least 5 MiB.
const PART: usize = 8 << 20;
/// Beyond this nothing is asked again until the next turn; it is what a request may take, too.
const PATIENCE: Duration = Duration::from_mins(2);

pub struct Store {
    objects: Arc<dyn ObjectStore>,
    runtime: Runtime,
    bucket: String,
    folder: Path,
}

impl Store {
    /// `s3://BUCKET/FOLDER`; who we are and where it is, the usual variables say:
    /// AWS_ACCESS_KEY_ID, AWS_SECRET_ACCESS_KEY, AWS_REGION, AWS_ENDPOINT_URL, AWS_ALLOW_HTTP.
    pub fn at(address: &str) -> Result<Self, DeskError> {
        let (bucket, folder) = {
            let rest = address.strip_prefix(STORE).unwrap_or(address);
            rest.split_once('/').unwrap_or((rest, ""))
        };
        let said = |error: &dyn std::fmt::Display| DeskError::Store {
            place: address.to_owned(),
            problem: error.to_string(),
        };
        // The network library leaves it to us who computes its seals; whoever was first stays.
        let _ = rustls::crypto::ring::default_provider().install_default();
        let folder = Path::parse(folder.trim_end_matches('/')).map_err(|error| said(&error))?;
        let retries = RetryConfig { max_retries: 3, retry_timeout: PATIENCE, ..RetryConfig::default() };
        let store = AmazonS3Builder::from_env()
            .with_bucket_name(bucket)
            .with_retry(retries)
            .with_config(AmazonS3ConfigKey::Client(ClientConfigKey::Timeout), "2m")
            .with_config(AmazonS3ConfigKey::Client(ClientConfigKey::ConnectTimeout), "10s")
            .build()
            .map_err(|error| said(&error))?;
        Self::on(Arc::new(store), bucket, folder)
    }

    /// A folder of any store.
    fn on(objects: Arc<dyn ObjectStore>, bucket: &str, folder: Path) -> Result<Self, DeskError> {
        let runtime = Builder::new_current_thread()
            .enable_all()
            .build()
            .map_err(|error| DeskError::System(error.to_string()))?;
        Ok(Self { objects, runtime, bucket: bucket.to_owned(), folder })
    }

    fn said(&self, name: &str) -> impl Fn(Error) -> DeskError {
        let place = self.shown(name);
        move |error| DeskError::Store { place: place.clone(), problem: plain(&error) }
    }

    fn path(&self, name: &str) -> Path {
        self.folder.clone().join(name)
    }

    /// Fetches an object part by part; `false` where it went away or was written anew meanwhile.
    async fn fetch(&self, name: &str, into: &mut File) -> Result<bool, DeskError> {
        let path = self.path(name);
        let (mut at, mut size, mut as_it_was) = (0, u64::MAX, None);
        while at < size {
            let range = GetRange::Bounded(at..at + PART as u64);
            let options = GetOptions { range: Some(range), if_match: as_it_was, ..GetOptions::default() };
            let part = match self.objects.get_opts(&path, options).await {
                Err(Error::NotFound { .. } | Error::Precondition { .. }) => return Ok(false),
                other => other.map_err(self.said(name))?,
            };
            (size, as_it_was) = (part.meta.size, part.meta.e_tag.clone());
            let bytes = part.bytes().await.map_err(self.said(name))?;
            into.write_all(&bytes).map_err(here)?;
            at += bytes.len() as u64;
            if bytes.is_empty() {
                break;
            }
        }
        Ok(true)
    }

    async fn upload(&self, name: &str, mut from: File) -> Result<(), DeskError> {
        let (path, said) = (self.path(name), self.said(name));
        let mut part = Vec::with_capacity(PART);
        let mut next = |part: &mut Vec<u8>| {
            part.clear();
            (&mut from).take(PART as u64).read_to_end(part).map_err(here)
        };
        if next(&mut part)? < PART {
            return self.objects.put(&path, part.into()).await.map(|_| ()).map_err(said);
        }
        let upload = self.objects.put_multipart(&path).await.map_err(&said)?;
        let mut upload = WriteMultipart::new_with_chunk_size(upload, PART);
        loop {
            upload.wait_for_capacity(1).await.map_err(&said)?;
            upload.write(&part);
            if next(&mut part)? == 0 {
                return upload.finish().await.map(|_| ()).map_err(said);
            }
        }
    }
}

impl Place for Store {
    fn files(&self) -> Result<Vec<Found>, DeskError> {
        let listed = self.runtime.block_on(self.objects.list_with_delimiter(Some(&self.folder)));
        let mut found: Vec<Found> = listed
            .map_err(self.said(""))?
            .objects
            .into_iter()
            // An empty one is no exchange file, and no range of it can be asked for.
            .filter(|object| object.size > 0)
            .filter_map(|object| {
                let name = object.location.filename().filter(|name| is_exchange_file(name))?.to_owned();
                let state = format!("{} {} {:?}", object.size, object.last_modified, object.e_tag);
                Some(Found { name, state })
            })
            .collect();
        found.sort_by(|one, other| one.name.cmp(&other.name));
        Ok(found)
    }

    fn open(&self, name: &str) -> Result<Option<Box<dyn Read>>, DeskError> {
        let mut file = tempfile::tempfile().map_err(here)?;
        if !self.runtime.block_on(self.fetch(name, &mut file))? {
            return Ok(None);
        }
        file.seek(SeekFrom::Start(0)).map_err(here)?;
        Ok(Some(Box::new(BufReader::new(file))))
    }

    fn put(
        &self,
        name: &str,
        write: &mut dyn FnMut(&FilePath) -> Result<(), BookError>,
    ) -> Result<(), DeskError> {
        let folder = tempfile::tempdir().map_err(here)?;
        let path = folder.path().join(name);
        write(&path)?;
        let file = File::open(&path).map_err(DeskError::file(&path))?;
        self.runtime.block_on(self.upload(name, file))
    }

    fn shown(&self, name: &str) -> String {
        format!("{STORE}{}/{}", self.bucket, self.path(name))
    }
}

/// An error of this machine's own disk.
#[allow(clippy::needless_pass_by_value, reason = "as `map_err` hands it over")]
fn here(error: std::io::Error) -> DeskError {
    DeskError::System(format!("a file that waits between book and store: {error}"))
}

/// What a store says, on one line: its own text goes over several.
fn plain(error: &Error) -> String {
    let text = error.to_string();
    let words: Vec<&str> = text.split_whitespace().collect();
    words.join(" ").chars().take(300).collect()
}

#[cfg(test)]
mod tests;
