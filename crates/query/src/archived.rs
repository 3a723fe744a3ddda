//! Archived tables: exactly the files that the snapshot names, or an error that says what is wrong with them.

use std::sync::Arc;

use datafusion::arrow::datatypes::SchemaRef;
use datafusion::catalog::{Session, TableProvider};
use datafusion::datasource::TableType;
use datafusion::datasource::file_format::parquet::ParquetFormat;
use datafusion::datasource::listing::{ListingOptions, ListingTable, ListingTableConfig, ListingTableUrl};
use datafusion::error::{DataFusionError, Result};
use datafusion::logical_expr::{Expr, TableProviderFilterPushDown};
use datafusion::physical_plan::ExecutionPlan;
use ligule_archive::{Archive, ArchiveError, Damage, LiveFile};

/// A table of files. The engine's own listing passes over files that are not there and would answer short, so that
/// every query looks first.
#[derive(Debug)]
pub(crate) struct Files {
    archive: Archive,
    files: Vec<LiveFile>,
    listing: ListingTable,
}

impl Files {
    /// Makes a table of exactly these files. The folder `season=…` is not declared as a partition: the files hold that
    /// column themselves.
    pub(crate) fn new(archive: &Archive, schema: SchemaRef, files: Vec<LiveFile>) -> Result<Self> {
        let urls = files
            .iter()
            .map(|file| {
                let url = archive.root().join(&file.path).map_err(|e| DataFusionError::External(Box::new(e)))?;
                ListingTableUrl::try_new(url, None)
            })
            .collect::<Result<Vec<_>>>()?;
        let config = ListingTableConfig::new_with_multi_paths(urls)
            .with_listing_options(ListingOptions::new(Arc::new(ParquetFormat::default())))
            .with_schema(schema);
        Ok(Self { archive: archive.clone(), files, listing: ListingTable::try_new(config)? })
    }
}

#[async_trait::async_trait]
impl TableProvider for Files {
    fn schema(&self) -> SchemaRef {
        self.listing.schema()
    }

    fn table_type(&self) -> TableType {
        TableType::Base
    }

    fn supports_filters_pushdown(&self, filters: &[&Expr]) -> Result<Vec<TableProviderFilterPushDown>> {
        self.listing.supports_filters_pushdown(filters)
    }

    async fn scan(
        &self,
        state: &dyn Session,
        projection: Option<&Vec<usize>>,
        filters: &[Expr],
        limit: Option<usize>,
    ) -> Result<Arc<dyn ExecutionPlan>> {
        for file in &self.files {
            if let Some(damage) = self.archive.look_at(file).await.map_err(external)? {
                return Err(external(damage.error()));
            }
        }
        self.listing.scan(state, projection, filters, limit).await
    }
}

/// A table that is damaged: it can be described, and every query of it is refused.
#[derive(Debug)]
pub(crate) struct Damaged {
    pub(crate) schema: SchemaRef,
    pub(crate) damage: Damage,
}

#[async_trait::async_trait]
impl TableProvider for Damaged {
    fn schema(&self) -> SchemaRef {
        Arc::clone(&self.schema)
    }

    fn table_type(&self) -> TableType {
        TableType::Base
    }

    async fn scan(
        &self,
        _: &dyn Session,
        _: Option<&Vec<usize>>,
        _: &[Expr],
        _: Option<usize>,
    ) -> Result<Arc<dyn ExecutionPlan>> {
        Err(external(self.damage.error()))
    }
}

fn external(error: ArchiveError) -> DataFusionError {
    DataFusionError::External(Box::new(error))
}
