//! Runs packs: compiles, limits, calls, and throws an instance away after any error.

use std::{
    path::PathBuf,
    sync::{
        Arc, Mutex, OnceLock,
        atomic::{AtomicBool, Ordering},
    },
    thread::JoinHandle,
    time::Duration,
};

use ligule_advice::{Finding, columns::Observations};
use wasmtime::{
    Config, Engine, Store, StoreLimits, StoreLimitsBuilder, Trap,
    component::{Component, HasSelf, Linker},
};

use crate::{
    Misbehaviour, Pack, RuleError, SeasonContext, answer, cache,
    contract::{self, API, CellTable, Explanation, Findings, GuestError, Metadata, RulePack, RulePackPre, log},
    tables,
};

/// How long one tick of the clock is that stops endless rules.
const TICK: Duration = Duration::from_millis(5);
/// Most messages kept of what a pack logs, and most bytes of one.
const MOST_LOG: (usize, usize) = (50, 500);
/// Most instances that wait for the next question.
const MOST_SPARE: usize = 4;

/// What packs may use.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HostOptions {
    /// A folder, writable by this user only, that keeps compiled code; `None` compiles every time.
    pub code_cache: Option<PathBuf>,
    /// Linear memory of one pack, bytes.
    pub memory_bytes: usize,
    /// Time for one question, ms, besides the time for its rows.
    pub deadline_ms: u64,
    /// Time for each thousand rows, ms.
    pub deadline_ms_per_thousand_rows: u64,
    /// Most bytes that a pack may hand over in one answer.
    pub answer_bytes: usize,
    /// Stack of a rule, bytes.
    pub stack_bytes: usize,
    /// Budget of instructions in golden cases: for one question, and for each row.
    pub case_fuel: (u64, u64),
}

impl Default for HostOptions {
    /// Limits for one visit and for history alike: 256 MiB, 2 s and 5 ms a thousand rows, 64 MiB an answer.
    fn default() -> Self {
        Self {
            code_cache: None,
            memory_bytes: 256 << 20,
            deadline_ms: 2_000,
            deadline_ms_per_thousand_rows: 5,
            answer_bytes: 64 << 20,
            stack_bytes: 512 << 10,
            case_fuel: (20_000_000, 10_000),
        }
    }
}

/// The machinery that runs packs. One serves a whole program.
pub struct Host {
    inner: Arc<Inner>,
}

struct Inner {
    options: HostOptions,
    plain: Machine,
    /// Counts instructions; made when the first golden case runs.
    metered: OnceLock<Machine>,
}

/// An engine and the clock that stops its endless rules.
struct Machine {
    engine: Engine,
    linker: Linker<State>,
    stop: Arc<AtomicBool>,
    clock: Option<JoinHandle<()>>,
}

impl Drop for Machine {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        if let Some(clock) = self.clock.take() {
            clock.thread().unpark();
            let _ = clock.join();
        }
    }
}

impl Machine {
    fn new(options: &HostOptions, metered: bool) -> Result<Self, RuleError> {
        let failed = |e: wasmtime::Error| RuleError::Host { problem: format!("{e:#}") };
        let mut config = Config::new();
        config.epoch_interruption(true).consume_fuel(metered).max_wasm_stack(options.stack_bytes);
        // Golden cases ask for the same bits everywhere; in daily use no NaN crosses the boundary.
        config.cranelift_nan_canonicalization(metered);
        let engine = Engine::new(&config).map_err(failed)?;
        let mut linker = Linker::new(&engine);
        RulePack::add_to_linker::<_, HasSelf<State>>(&mut linker, |state| state).map_err(failed)?;
        let stop = Arc::new(AtomicBool::new(false));
        let clock = std::thread::Builder::new()
            .name("ligule-rules-clock".to_owned())
            .spawn({
                let (stop, engine) = (stop.clone(), engine.clone());
                move || {
                    while !stop.load(Ordering::Relaxed) {
                        std::thread::park_timeout(TICK);
                        engine.increment_epoch();
                    }
                }
            })
            .map_err(|e| RuleError::Host {
                problem: format!("cannot start the clock that stops endless rules: {e}"),
            })?;
        Ok(Self { engine, linker, stop, clock: Some(clock) })
    }
}

/// What the host keeps beside an instance.
struct State {
    limits: StoreLimits,
    log: Vec<String>,
    /// Fuel used by all calls so far, where the engine counts it.
    fuel_used: u64,
}

impl log::Host for State {
    fn write(&mut self, level: log::Level, message: String) {
        let mut message = message;
        if message.len() > MOST_LOG.1 {
            let cut = (0..=MOST_LOG.1).rev().find(|&i| message.is_char_boundary(i)).unwrap_or(0);
            message.truncate(cut);
        }
        tracing::debug!(?level, message, "a rule pack says");
        if self.log.len() == MOST_LOG.0 {
            self.log.remove(0);
        }
        self.log.push(message);
    }
}

impl contract::types::Host for State {}

impl Host {
    /// Makes the machinery ready.
    pub fn new(options: HostOptions) -> Result<Self, RuleError> {
        let plain = Machine::new(&options, false)?;
        Ok(Self { inner: Arc::new(Inner { options, plain, metered: OnceLock::new() }) })
    }

    /// Compiles a pack's rule (or takes it from the code cache), compares it with its manifest and gives it its
    /// tables.
    pub fn load(&self, pack: &Pack) -> Result<LoadedPack, RuleError> {
        LoadedPack::new(self.inner.clone(), pack.clone(), false)
    }
}

impl Inner {
    fn machine(&self, metered: bool) -> Result<&Machine, RuleError> {
        if !metered {
            return Ok(&self.plain);
        }
        if let Some(machine) = self.metered.get() {
            return Ok(machine);
        }
        let machine = Machine::new(&self.options, true)?;
        Ok(self.metered.get_or_init(|| machine))
    }
}

/// A pack that is ready to be asked.
pub struct LoadedPack {
    host: Arc<Inner>,
    pack: Pack,
    pre: RulePackPre<State>,
    tables: Vec<CellTable>,
    codes: Vec<String>,
    metered: bool,
    /// Instances that answered without an error.
    spare: Mutex<Vec<Instance>>,
}

impl std::fmt::Debug for LoadedPack {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("LoadedPack")
            .field("pack", &self.pack.name())
            .field("metered", &self.metered)
            .finish_non_exhaustive()
    }
}

struct Instance {
    store: Store<State>,
    rule: RulePack,
}

impl LoadedPack {
    fn new(host: Arc<Inner>, pack: Pack, metered: bool) -> Result<Self, RuleError> {
        check_api(&pack)?;
        let tables = tables::read(&pack)?;
        let machine = host.machine(metered)?;
        let component =
            cache::compile(&machine.engine, pack.component(), host.options.code_cache.as_deref()).map_err(|e| {
                pack.damaged("rule.wasm", format!("it is no sound WebAssembly component: {:#}", first_line(&e)))
            })?;
        check_world(&pack, &machine.engine, &component)?;
        let other_world = |e: wasmtime::Error| RuleError::OtherWorld {
            pack: pack.name(),
            problem: format!(
                "it says that it is built for this version, but its functions differ ({})",
                first_line(&e)
            ),
        };
        let pre = machine.linker.instantiate_pre(&component).map_err(other_world)?;
        let pre = RulePackPre::new(pre).map_err(other_world)?;
        let mut loaded = Self { host, pack, pre, tables, codes: Vec::new(), metered, spare: Mutex::default() };
        let mut instance = loaded.instance()?;
        let metadata =
            loaded.call(&mut instance, "describe", 0, |i| i.rule.ligule_rules_rule().call_describe(&mut i.store))?;
        loaded.agree(&metadata)?;
        loaded.codes = metadata.codes;
        loaded.spare.get_mut().unwrap_or_else(|e| e.into_inner()).push(instance);
        Ok(loaded)
    }

    /// Returns the same pack on an engine that counts instructions.
    pub(crate) fn metered(&self) -> Result<Self, RuleError> {
        Self::new(self.host.clone(), self.pack.clone(), true)
    }

    /// Returns the pack.
    pub fn pack(&self) -> &Pack {
        &self.pack
    }

    /// Returns the names of the codes that its findings bear.
    pub fn codes(&self) -> &[String] {
        &self.codes
    }

    /// Evaluates all fields of a batch and returns what was found, in words, in the order of the fields.
    ///
    /// Observations made after `context.as_of` are not shown to the rule. A finding that rests on values in conflict
    /// says so. An error means that *nothing was evaluated*, never that nothing was found.
    pub fn evaluate(&self, context: &SeasonContext, obs: &Observations) -> Result<Vec<Finding>, RuleError> {
        Ok(self.evaluate_by_feature(context, obs)?.into_iter().flatten().collect())
    }

    /// Evaluates like [`LoadedPack::evaluate`] and keeps the findings of each field apart, in the order of
    /// [`Observations::features`].
    pub fn evaluate_by_feature(
        &self,
        context: &SeasonContext,
        obs: &Observations,
    ) -> Result<Vec<Vec<Finding>>, RuleError> {
        self.check_question(context, obs)?;
        let all: Vec<usize> = (0..obs.features().len()).collect();
        let obs = obs.select(&all, Some(context.as_of));
        let season = contract::season(context);
        self.with_instance(|loaded, instance| {
            let batch = contract::observations(&obs);
            let found = loaded.ask_findings(instance, &season, &batch, obs.rows())?;
            answer::check(&loaded.pack, &found, &obs, &loaded.codes)?;
            let mut out = vec![Vec::new(); all.len()];
            for group in answer::groups(&found) {
                let one = obs.select(&[group], None);
                let batch = contract::observations(&one);
                let rows = one.rows();
                let words = loaded.call(instance, "explain", rows, |i| {
                    i.rule.ligule_rules_rule().call_explain(&mut i.store, &season, &batch)
                })?;
                let words: Vec<Explanation> = words.map_err(|e| loaded.guest_error(e))?;
                out[group] = answer::translate(&loaded.pack, &loaded.codes, &found, group, words, &obs)?;
            }
            Ok(out)
        })
    }

    /// Evaluates a batch and returns the number of findings by code: for back-tests over many seasons, where nobody
    /// reads each one.
    pub fn count(&self, context: &SeasonContext, obs: &Observations) -> Result<Vec<(String, usize)>, RuleError> {
        self.check_question(context, obs)?;
        let all: Vec<usize> = (0..obs.features().len()).collect();
        let obs = obs.select(&all, Some(context.as_of));
        let season = contract::season(context);
        self.with_instance(|loaded, instance| {
            let found = loaded.ask_findings(instance, &season, &contract::observations(&obs), obs.rows())?;
            answer::check(&loaded.pack, &found, &obs, &loaded.codes)?;
            let count = |code: usize| found.code.iter().filter(|&&c| usize::from(c) == code).count();
            Ok(loaded.codes.iter().enumerate().map(|(i, name)| (name.clone(), count(i))).collect())
        })
    }

    /// Evaluates on a new instance and returns the words and the fuel that was used; for golden cases.
    pub(crate) fn evaluate_metered(
        &self,
        context: &SeasonContext,
        obs: &Observations,
    ) -> Result<(Vec<Vec<Finding>>, u64), RuleError> {
        debug_assert!(self.metered);
        self.drop_spare();
        let findings = self.evaluate_by_feature(context, obs)?;
        let spare = self.spare.lock().unwrap_or_else(|e| e.into_inner());
        Ok((findings, spare.last().map_or(0, |i| i.store.data().fuel_used)))
    }

    /// Throws away the instances that wait, so that the next question meets a new one.
    pub(crate) fn drop_spare(&self) {
        self.spare.lock().unwrap_or_else(|e| e.into_inner()).clear();
    }

    fn ask_findings(
        &self,
        instance: &mut Instance,
        season: &contract::Season,
        batch: &contract::types::Observations,
        rows: usize,
    ) -> Result<Findings, RuleError> {
        let found = self.call(instance, "evaluate", rows, |i| {
            i.rule.ligule_rules_rule().call_evaluate(&mut i.store, season, batch)
        })?;
        found.map_err(|e| self.guest_error(e))
    }

    /// Runs a question on an instance; keeps the instance only where there was no error at all.
    fn with_instance<T>(&self, ask: impl FnOnce(&Self, &mut Instance) -> Result<T, RuleError>) -> Result<T, RuleError> {
        let spare = self.spare.lock().unwrap_or_else(|e| e.into_inner()).pop();
        let mut instance = match spare {
            Some(instance) => instance,
            None => self.instance()?,
        };
        let answer = ask(self, &mut instance)?;
        let mut spare = self.spare.lock().unwrap_or_else(|e| e.into_inner());
        if spare.len() < MOST_SPARE {
            spare.push(instance);
        }
        Ok(answer)
    }

    /// Makes an instance and gives it its tables.
    fn instance(&self) -> Result<Instance, RuleError> {
        let machine = self.host.machine(self.metered)?;
        let limits = StoreLimitsBuilder::new()
            .memory_size(self.memory_bytes())
            .table_elements(100_000)
            .instances(20)
            .tables(20)
            .memories(4)
            .trap_on_grow_failure(true)
            .build();
        let mut store = Store::new(&machine.engine, State { limits, log: Vec::new(), fuel_used: 0 });
        store.limiter(|state| &mut state.limits);
        store.set_hostcall_fuel(self.host.options.answer_bytes);
        self.refill(&mut store, 0)?;
        let rule = self.pre.instantiate(&mut store).map_err(|e| self.stopped(&e, "start", 0, Vec::new()))?;
        let mut instance = Instance { store, rule };
        let loaded =
            self.call(&mut instance, "load", 0, |i| i.rule.ligule_rules_rule().call_load(&mut i.store, &self.tables))?;
        loaded.map_err(|e| self.guest_error(e))?;
        Ok(instance)
    }

    fn call<T>(
        &self,
        instance: &mut Instance,
        during: &'static str,
        rows: usize,
        ask: impl FnOnce(&mut Instance) -> wasmtime::Result<T>,
    ) -> Result<T, RuleError> {
        self.refill(&mut instance.store, rows)?;
        match ask(instance) {
            Ok(answer) => {
                if self.metered {
                    let left = instance.store.get_fuel().unwrap_or(0);
                    instance.store.data_mut().fuel_used += self.fuel(rows).saturating_sub(left);
                }
                Ok(answer)
            }
            Err(e) => {
                let log = std::mem::take(&mut instance.store.data_mut().log);
                Err(self.stopped(&e, during, rows, log))
            }
        }
    }

    fn refill(&self, store: &mut Store<State>, rows: usize) -> Result<(), RuleError> {
        store.set_epoch_deadline(self.deadline_ms(rows).div_ceil(TICK.as_millis() as u64) + 1);
        if self.metered {
            let fuel = self.fuel(rows);
            store.set_fuel(fuel).map_err(|e| RuleError::Host { problem: e.to_string() })?;
        }
        Ok(())
    }

    fn deadline_ms(&self, rows: usize) -> u64 {
        let options = &self.host.options;
        let allowed = options.deadline_ms + rows as u64 * options.deadline_ms_per_thousand_rows / 1000;
        allowed.min(self.pack.manifest().limits.deadline_ms.unwrap_or(u64::MAX))
    }

    fn memory_bytes(&self) -> usize {
        let own = self.pack.manifest().limits.memory_mib.unwrap_or(usize::MAX >> 20);
        self.host.options.memory_bytes.min(own << 20)
    }

    fn fuel(&self, rows: usize) -> u64 {
        let (base, row) = self.host.options.case_fuel;
        base + row * rows as u64
    }

    fn stopped(&self, error: &wasmtime::Error, during: &'static str, rows: usize, log: Vec<String>) -> RuleError {
        let text = format!("{error:#}");
        let misbehaviour = match error.downcast_ref::<Trap>() {
            Some(Trap::Interrupt) => Misbehaviour::TooLong { milliseconds: self.deadline_ms(rows) },
            Some(Trap::OutOfFuel) => Misbehaviour::TooMuchWork { fuel: self.fuel(rows) },
            Some(Trap::StackOverflow) => Misbehaviour::TooDeep,
            Some(Trap::MemoryOutOfBounds) => Misbehaviour::BadMemory,
            Some(Trap::UnreachableCodeReached) => Misbehaviour::Panic,
            _ if text.contains("forcing trap when growing memory") || text.contains("memory minimum size") => {
                Misbehaviour::TooMuchMemory { mebibytes: self.memory_bytes() >> 20 }
            }
            _ if text.contains("too much data is being copied") => {
                Misbehaviour::TooMuchData { mebibytes: self.host.options.answer_bytes >> 20 }
            }
            _ => Misbehaviour::Other(first_line(error)),
        };
        RuleError::Stopped { pack: self.pack.name(), misbehaviour, during, log }
    }

    fn guest_error(&self, error: GuestError) -> RuleError {
        let pack = self.pack.name();
        match error {
            GuestError::BadTable(e) => {
                RuleError::BadTable { pack, table: e.table, line: e.line, column: e.column, problem: e.message }
            }
            GuestError::Unsupported(problem) => RuleError::Unsupported { pack, problem },
            GuestError::Internal(problem) => RuleError::Refused { pack, problem },
        }
    }

    fn agree(&self, metadata: &Metadata) -> Result<(), RuleError> {
        let manifest = self.pack.manifest();
        let needs = |names: Vec<&str>| {
            let mut names = names;
            names.sort_unstable();
            names.join(", ")
        };
        let pairs = [
            ("the id is", manifest.id.clone(), metadata.id.clone()),
            ("the version is", manifest.version.clone(), metadata.version.clone()),
            (
                "it reads",
                needs(manifest.needs.iter().map(|n| n.measure.as_str()).collect()),
                needs(metadata.needs.iter().map(String::as_str).collect()),
            ),
        ];
        match pairs.into_iter().find(|(_, manifest, rule)| manifest != rule) {
            Some((what, manifest, rule)) => Err(RuleError::Disagrees { pack: self.pack.name(), what, manifest, rule }),
            None => Ok(()),
        }
    }

    /// Refuses a question that the pack was not written for.
    fn check_question(&self, context: &SeasonContext, obs: &Observations) -> Result<(), RuleError> {
        let manifest = self.pack.manifest();
        let known: Vec<&str> = manifest.settings.iter().map(|s| s.key.as_str()).collect();
        if let Some(key) = context.settings.keys().find(|key| !known.contains(&key.as_str())) {
            let known =
                if known.is_empty() { "it has none".to_owned() } else { format!("it knows {}", known.join(", ")) };
            return Err(RuleError::Unsupported {
                pack: self.pack.name(),
                problem: format!("there is no setting `{key}`; {known}"),
            });
        }
        for measure in &obs.columns().measures {
            let Some(need) = manifest.needs.iter().find(|n| n.measure == measure.name) else { continue };
            if need.unit != measure.unit {
                return Err(RuleError::OtherUnit {
                    pack: self.pack.name(),
                    measure: measure.name.clone(),
                    expected: need.unit.clone(),
                    got: measure.unit.clone(),
                });
            }
        }
        Ok(())
    }
}

fn first_line(error: &wasmtime::Error) -> String {
    let text = format!("{:#}", error);
    text.lines().next().unwrap_or_default().chars().take(300).collect()
}

fn check_api(pack: &Pack) -> Result<(), RuleError> {
    let needs = crate::manifest::api_version(&pack.manifest().api).unwrap_or((0, 0));
    if needs.0 == API.0 && needs.1 <= API.1 { Ok(()) } else { Err(other_api(pack, needs)) }
}

fn other_api(pack: &Pack, needs: (u32, u32)) -> RuleError {
    RuleError::OtherApi {
        pack: pack.name(),
        needs: format!("{}.{}", needs.0, needs.1),
        offers: format!("{}.{}", API.0, API.1),
        hint: if needs > API {
            "get a newer ligule, or an older version of the pack"
        } else {
            "get a newer version of the pack"
        },
    }
}

/// Looks at the names of imports and exports before anything is linked, so that a mismatch can be told in words.
fn check_world(pack: &Pack, engine: &Engine, component: &Component) -> Result<(), RuleError> {
    let ty = component.component_type();
    let interface = |name: &str| -> Option<(String, (u32, u32))> {
        let (interface, version) = name.strip_prefix("ligule:rules/")?.split_once('@')?;
        Some((interface.to_owned(), crate::manifest::api_version(version)?))
    };
    let known = |version: (u32, u32)| version.0 == API.0 && version.1 <= API.1;
    for (import, _) in ty.imports(engine) {
        match interface(import) {
            Some((_, version)) if !known(version) => return Err(other_api(pack, version)),
            Some((name, _)) if name == "log" || name == "types" => {}
            _ => return Err(RuleError::ForeignImport { pack: pack.name(), import: import.to_owned() }),
        }
    }
    let exports: Vec<&str> = ty.exports(engine).map(|(name, _)| name).collect();
    let rule = exports.iter().find_map(|name| interface(name).filter(|(name, _)| name == "rule"));
    match rule {
        Some((_, version)) if !known(version) => Err(other_api(pack, version)),
        Some(_) => Ok(()),
        None => Err(RuleError::OtherWorld {
            pack: pack.name(),
            problem: match exports.first() {
                Some(other) => format!("it exports `{other}` and not `ligule:rules/rule`"),
                None => "it exports nothing".to_owned(),
            },
        }),
    }
}
