//! English.

use super::{Noun, Phrase};

pub(super) fn text(phrase: Phrase) -> &'static str {
    match phrase {
        // Recording and correcting.
        Phrase::Recorded => "recorded {key}: {what}",
        Phrase::RecordedMany => "recorded {n} on {fields}",
        Phrase::OnField => "{kind} on {field}, {at}, {values}",
        Phrase::AtPlace => "at {place}",
        Phrase::PlaceWord => "place",
        Phrase::ByPerson => "by {person}",
        Phrase::StaysAs => "{name} is {value} already, which is now said again",
        Phrase::OtherCrop => "{field} is a field of {crop}, which has no stage {stage}",
        Phrase::OtherThanUsual => "the usual crop of {field} is {usual}, not {crop}",
        Phrase::StateImpossible => "does not hold: {why}",
        Phrase::SaidRecorded => "recorded: {what}",
        Phrase::NewPerson => "{person} is new: nobody of that name belongs to the crew or has recorded before",
        Phrase::NewPersonNear => {
            "{person} is new: nobody of that name belongs to the crew or has recorded before; if {near} is meant, say \
             `--by \"{near}\"` or mend the sheet, and void what is recorded under {person}"
        }
        Phrase::SaidBefore => {
            "{new} says what {known} said already, of the same time and person; if it was recorded twice, \
             `ligule void {new} --why \"recorded twice\"`"
        }
        Phrase::SaidBeforeMany => {
            "{n} say what was there already, of the same time and person, the first of them {new} what {known} said; if \
             it was recorded twice, take them out again with `ligule void {new} --why \"recorded twice\"` and so on"
        }
        Phrase::NowIs => "{name} is now {value}",
        Phrase::ResolvedIs => "{key}: {name} is {value}",
        Phrase::IsVoid => "{key} is void ({why})",
        // What an observation amounts to.
        Phrase::PlantsIn => "{plants} in {sample} ≈ {density}",
        Phrase::MeanSoFar => "mean of {n} so far {mean} ± {half} (95 % interval)",
        Phrase::DepthSoFar => "{seeds} so far, mean depth {mean}, {low} to {high}",
        Phrase::DepthOff => "{quarter} % more than {small} off {target}, {half} % more than {large}",
        Phrase::FieldAt => "field at {stage}",
        Phrase::FieldAtBy => "field at {stage} by {plants}, {least} to {most}",
        Phrase::ShareFound => "{found} of {examined} {what}, {percent} %",
        Phrase::ShareInterval => "(95 % interval {low} to {high} %)",
        Phrase::PestSoFar => "{name} so far: {shares}",
        Phrase::CrownAdded => "{added} are added to each seed to crown: the crown forms that deep",
        Phrase::SurfaceCounts => "of each plant seed to surface counts; seed to crown adds no other",
        Phrase::PlantsCountBefore => {
            "{stage}, given for the field as a whole, does not count beside plants counted one by one, which make {field}"
        }
        Phrase::FoundOnPlants => "{what}: {found}, mean {mean} a plant",
        Phrase::FoundInNights => "{what}: {found}, mean {mean} a night",
        Phrase::FoundInTraps => "{what}: {found}, mean {mean} a trap",
        Phrase::EstimateOfEars => {
            "{ears} ears on 1/1000 acre × {an_ear} kernels an ear ÷ {kernels} kernels a bushel ≈ {yield}"
        }
        Phrase::EstimateOfPods => {
            "{plants} plants on 1/1000 acre × {pods} pods × {seeds} seeds ÷ {kernels} seeds a bushel ≈ {yield}"
        }
        Phrase::EstimateByKernels => {
            "kernels to the bushel were not given: {low} with many small ones, {high} with few large ones"
        }
        Phrase::Affected => "{found} of {examined} affected, {percent} %",
        Phrase::MeanOf => "{what}, mean {mean}",
        Phrase::StandardDeviation => "standard deviation {sd}",
        Phrase::DoublesAndSkips => "{doubles} % doubles, {skips} % skips",
        Phrase::StudiesFindLoss => {
            "the studies find a loss of {low} to {high} at {yield} (they do not agree: `ligule table \
             spacing-loss`)"
        }
        Phrase::AnotherCountTells => "another count will tell how many more are needed",
        Phrase::ShareReached => "± {share} % is reached",
        Phrase::MoreToShare => "{counts} to ± {share} %",
        // A visit in one sitting.
        Phrase::VisitGoesOn => "going on with the visit of {field} of {begun}, {n} recorded; `--new` begins another",
        Phrase::SampleOfAnotherDay => {
            "the observation that is not whole was begun on {day}; an answer given today dates it today, without one it \
             keeps that day; `ligule visit {field} --new` begins another"
        }
        Phrase::VisitBegins => "visit of {field}: {kinds}; `help` explains, `quit` stops and keeps everything",
        Phrase::AgainOrNext => "`again` for another {kind}, or Enter for {next}",
        Phrase::AgainOrFinish => "`again` for another {kind}, or Enter to finish",
        Phrase::NotAskedNow => "not asked for at this stage: {kinds}",
        Phrase::VisitKept => "{recorded} on {field}; `ligule visit {field}` goes on where you stopped",
        Phrase::VisitOver => "{recorded} on {field}",
        Phrase::VisitTakenOver => {
            "the visit was not left with `quit`: if it is open in another window still, it stops there"
        }
        Phrase::AnswerNeeded => "{measure} is needed",
        Phrase::AnswerOrSkip => "answer it, or `skip` leaves out the kind",
        Phrase::AgainGivesUp => "not recorded yet: {answers}; `{word}` once more gives that up",
        Phrase::GivenUp => "given up, not recorded: {kind}: {answers}",
        Phrase::PhotoFile => "Picture (its file)",
        Phrase::RangeOf => "{low} to {high}",
        Phrase::SittingWords => {
            "Enter takes what stands in brackets, or leaves the question out; `-` leaves it out; `done` records \
             what was answered; `skip` goes to the next kind; `back` goes back; `again` takes another sample; \
             the name of a kind goes to it; `finish` ends the visit; `quit` stops and keeps everything; a bare \
             number is in the unit that the question names; `=text` is text and none of these words."
        }
        Phrase::VisitOf => "visit {visit} on {field}, {at}, by {by}",
        Phrase::VisitWord => "visit",
        Phrase::VisitMoved => "moved {moved}",
        Phrase::VisitThere => "{field}, visit {visit}",
        Phrase::AndTo => " and to ",
        Phrase::MovedTo => "to {to}",
        Phrase::MovedFrom => "from {from}",
        Phrase::MovedAlso => "; also moved to {to}",
        Phrase::CopiedFrom => "copied from {from}",
        Phrase::MovedAs => "moved to {field} as {key}",
        Phrase::MovedToWord => "moved-to",
        Phrase::CopiedFromWord => "copied-from",
        Phrase::VoidWord => "void",
        // Whether people may enter.
        Phrase::KeepOut => {
            "KEEP OUT until {until} ({zone}): {name}, spraying ended {ended}, recorded interval {hours} h"
        }
        Phrase::KeepOutFromDay => {
            "KEEP OUT until {until} ({zone}): {name}, sprayed on {ended} at an hour that is not known, counted from \
             the end of that day, recorded interval {hours} h"
        }
        Phrase::SprayedAnotherDay => {
            "it says that it was applied on {day}, and is dated {at}: {day} counts, to its end; if spraying ended \
             after midnight, correct the day"
        }
        Phrase::ReentryUnknown => "RE-ENTRY UNKNOWN, ask before walking: {name}, spraying recorded for {ended}, {why}",
        Phrase::ReentryDisputed => "two people wrote different intervals",
        Phrase::ReentryNotRecorded => "no re-entry interval is recorded",
        Phrase::KeepOutBrief => "keep out until {until}",
        Phrase::AskBrief => "unknown: ask before walking",
        Phrase::LabelIsLaw => {
            "The label is the law: this shows only what the crew recorded, and an interval can differ from \
             product to product."
        }
        Phrase::AskTheApplicator => {
            "Ask the applicator when in doubt; local rules, posted signs and a longer interval on the label go \
             before this."
        }
        // An assessment: the words at the head of its lines.
        Phrase::HeadReentry => "re-entry",
        Phrase::HeadRemark => "note:",
        Phrase::HeadPlanted => "planted",
        Phrase::HeadStand => "stand",
        Phrase::HeadSpacing => "spacing",
        Phrase::HeadStage => "stage",
        Phrase::HeadHeight => "height",
        Phrase::HeadDepth => "seed depth",
        Phrase::HeadDegreeDays => "degree days",
        Phrase::HeadHail => "hail",
        Phrase::HeadFrost => "frost",
        Phrase::HeadPest => "pest",
        Phrase::HeadDisease => "disease",
        Phrase::HeadWeed => "weed",
        Phrase::HeadSoil => "soil",
        Phrase::HeadRoots => "roots",
        Phrase::HeadEstimate => "estimate",
        Phrase::HeadHarvest => "harvest",
        Phrase::HeadNote => "note",
        Phrase::HeadSetAside => "set aside",
        Phrase::HeadVoid => "void",
        Phrase::HeadNotAssessed => "not assessed",
        // An assessment: its lines.
        Phrase::AssessmentOf => "{field}, {crop} {season}, as of {day}",
        Phrase::CropNotRecorded => "crop not recorded",
        Phrase::Ago => "{days} ago",
        Phrase::RowsOf => "{width} rows",
        Phrase::SetDeep => "set {depth} deep",
        Phrase::Interval => "95 % interval {low} to {high}",
        Phrase::Variation => "variation {percent} %",
        Phrase::ShareOfSeeds => "{percent} % of the seeds dropped",
        Phrase::MoreCounts => "more counts for ±10 %: {ten}; for ±5 %: {five}",
        Phrase::PlantsFromTo => "plants from {least} to {most}",
        Phrase::BehindTwo => "{percent} % two or more collars behind",
        Phrase::BeyondBounds => "{quarter} % beyond {small} and {half} % beyond {large} of the set {target}",
        Phrase::FromTo => "{from} to {to}",
        Phrase::MissingDays => "{days} missing and not filled",
        Phrase::WeatherOf => "weather of station {station}",
        Phrase::LetsExpect => "lets one expect {stage} ({low} to {high}), {rate}",
        Phrase::FoundOf => "{found} of {examined}",
        Phrase::PlantsPer => "{n} plants{unit}",
        Phrase::Tall => "to {height} tall",
        Phrase::OnlyCutCounted => "only cut plants were counted; how many were damaged in all is not known",
        Phrase::CutNotCounted => "cut plants were not counted",
        Phrase::SetAsideOf => "{measure} of {observation}: {why}",
        Phrase::VoidInNone => "{observations} void and in no number here",
        Phrase::OfIntended => "{intended} intended",
        Phrase::LossAt => "the studies find a loss of {low} to {high}",
        Phrase::PlantsLost => "{found} of {examined} lost, {percent} %",
        Phrase::LeafLost => "{percent} % of the leaf area lost",
        Phrase::LeafLostPlaces => "{low} to {high} % over {places}",
        Phrase::EventOf => "of {event}",
        Phrase::AtStage => "at {stage}",
        Phrase::YieldLoss => "costs {loss} of the yield",
        Phrase::OfLeafLoss => "lost leaf {loss}",
        Phrase::OfPlantLoss => "lost plants {loss}",
        Phrase::GrowingPoint => "growing point {what}",
        Phrase::Severity => "severity {percent} %",
        Phrase::HighestLeaf => "highest leaf: {leaf}",
        Phrase::EstimateFactors => "{low} to {high} by the kernel factors published",
        Phrase::AtStandard => "{yield} at standard moisture",
        Phrase::AsTold => "{yield} as told",
        Phrase::Moisture => "moisture {percent} %",
        Phrase::TestWeight => "test weight {weight}",
        Phrase::StandKept => "{percent} % of the stand counted before",
        Phrase::Barren => "{percent} % barren",
        Phrase::Lodged => "{percent} % lodged",
        // Cautions, what was set aside, what is lacking.
        Phrase::NoPlanting => {
            "No planting is recorded, so degree days and the share of the seeding rate cannot be told."
        }
        Phrase::NoSeedingRate => "The planting has no seeding rate, so the stand is not compared with it.",
        Phrase::NoStandCount => "No stand count can be used.",
        Phrase::NoStage => "No growth stage is recorded.",
        Phrase::OneCount => "One count tells nothing about how much the field varies: there is no interval.",
        Phrase::FewCounts => "{n} counts are too few to lean on the interval; make at least 4.",
        Phrase::Patchy => {
            "The counts vary by more than {percent} %: the stand is patchy (a limit from memory, to be \
             verified). Count good and poor zones apart instead of taking one mean."
        }
        Phrase::EarlierCounts => "Counts more than {days} days before the last one are not in the mean: {n}.",
        Phrase::MorePlantsThanSeeds => {
            "More plants than seeds by a tenth or more (common practice, no source): look at {observations} \
             again; the mean is no stand until then."
        }
        Phrase::NoArea => {
            "The count has neither a length of row, nor a hoop, nor thousandths of an acre, so its area is not \
             known."
        }
        Phrase::NoRowWidth => "Neither the count nor a planting tells the row width, so its area is not known.",
        Phrase::CountUnusable => "The count cannot be used: {error}.",
        Phrase::SampleRows => "{length} at {width}",
        Phrase::SampleOfRows => "{length} of {rows} rows at {width}",
        Phrase::SampleHoop => "{diameter} hoop",
        Phrase::SamplePlanting => "{sample}, row width of the planting",
        Phrase::PlantingLater => "This planting was recorded later, on {day}.",
        Phrase::PlantingsDiffer => {
            "{n} different plantings are recorded: {plantings}. The last of them counts. If the field was not \
             planted again, correct the right record and void the others."
        }
        Phrase::PlantingOn => "{crop} on {day}",
        Phrase::CropNotSettled => "a crop that is not settled",
        Phrase::CollarsExpected => "Expected whole leaf collars from 0 to 30, got {n}; the plant is left out.",
        Phrase::FewPlantsForStage => "{plants}: few for the stage of a field; look at 10 to 20.",
        Phrase::SplitStalk => "The leaf number was found by splitting a stalk, which may be off by one.",
        Phrase::StageExpected => "Expected a growth stage of the crop, got `{text}`; it is left out.",
        Phrase::StageAsOne => "The stage was given for the field as a whole; plants were not counted one by one.",
        Phrase::ValueUnusable => "It cannot be used: {error}.",
        Phrase::ShallowSeeds => {
            "{n} of {seeds} shallower than {limit}: roots may form in dry soil and plants may fall over."
        }
        Phrase::CrownOverstates => "Seed to crown overstates the depth of such seeds; measure from seed to surface.",
        Phrase::DegreeDaysCornOnly => {
            "Degree days 86/50 °F and their leaf rates are for corn; none are told for another crop."
        }
        Phrase::NoStation => "No weather station stands for this field, so there are no degree days.",
        Phrase::StationLacksDays => {
            "The weather station {station} has no temperatures from {from} to the day before {to}."
        }
        Phrase::TooManyMissing => {
            "{missing} of {days} without temperatures, more than 5 %: the sum is too low, and no stage is \
             expected from it."
        }
        Phrase::EmergenceDiffers => {
            "The expected stage takes {usual} degree days ({unit}) to emergence; fields differ from {low} to \
             {high}."
        }
        Phrase::MorningStation => {
            "The station reads its maximum in the morning, so that warm days may be booked a day late."
        }
        Phrase::RatePurdue => "rate of Purdue University",
        Phrase::RateIowa => "rate of Iowa State University",
        Phrase::NotEmerged => "not emerged",
        Phrase::TasselOrLater => "VT or later",
        Phrase::MothsNoShare => "The moths of a trap are no share of plants.",
        Phrase::NotTogether => "{why}; left out until one of the two is corrected.",
        Phrase::NothingCounted => {
            "Neither damaged nor cut plants were counted, so there is no share of the plants examined."
        }
        Phrase::NumbersExpected => "Expected numbers separated by blanks, got `{word}`; it is left out.",
        Phrase::InConflict => "Two people wrote different values; the value is left out until one of them is chosen.",
        Phrase::StudiesDisagree => {
            "The studies of what uneven spacing costs do not agree, and are not averaged; of those in per cent, \
             {yield} is taken for the even stand (common practice, no source)."
        }
        Phrase::FewGaps => "{gaps} are few to judge a planter by; 50 or more are usual (common practice, no source).",
        Phrase::NoIntended => {
            "The spacing intended is not known, neither from the readings nor from a planting with rate and row \
             width: doubles and skips are not told."
        }
        Phrase::TooSoon => {
            "Looked at {days} after it happened; publications say to wait {least} to {most} days before judging \
             which plants live."
        }
        Phrase::NoLossForSoybean => {
            "The trials of hail on soybean count nodes lost, which are not recorded: no loss of yield is told."
        }
        Phrase::NoLossForFrost => {
            "No table is at hand that turns frost into a loss of yield; plants and leaf are told as counted."
        }
        Phrase::NoDamageStage => "The stage when it fell is not recorded, so no loss of yield is told.",
        Phrase::LossOutside => "The loss of yield cannot be told: {error}.",
        Phrase::NoStandBefore => {
            "Up to 10 leaves, what lost plants cost follows from the stand and the planting date, which are not \
             both known."
        }
        Phrase::NotASettlement => {
            "An agronomic estimate, not an insurance settlement; let the adjuster see the field before anything \
             is done to it."
        }
        Phrase::EstimateOff => "Such an estimate is often off by {bushels} (from memory, to be verified).",
        Phrase::UsualFactor => {
            "Where no kernels to the bushel were recorded, {factor} are taken (common practice, no source)."
        }
        Phrase::SeedsInBushelLacking => {
            "Seeds to the bushel are not recorded, so plants, pods and seeds make no yield."
        }
        Phrase::EstimateToldOnly => "Somebody's own estimate, the parts of which were not kept, is in the mean: {n}.",
        Phrase::BasisUnknown => "Whether the yield is told dry or as it came is not recorded; it is taken as told.",
        Phrase::WetWithoutMoisture => {
            "The yield is told as it came, without its moisture, so it cannot be turned into the standard."
        }
        Phrase::PartsWithoutArea => "Not every part has its area, so the mean is not weighted by area.",
        // Kinds.
        Phrase::KindHow => "How: {protocol}",
        Phrase::KindAskedFor => "Asked for from {from} to {to}.",
        Phrase::KindOnlyWhere => "Only where {chosen} is {codes}: {measures}.",
        Phrase::TypeQuantity => "quantity",
        Phrase::TypeCount => "count",
        Phrase::TypeChoice => "choice",
        Phrase::TypeStage => "stage",
        Phrase::TypeDay => "day",
        Phrase::TypeList => "list",
        Phrase::TypeText => "text",
        // Listings without rows.
        Phrase::NoKinds => "no kinds",
        Phrase::NoMeasures => "no measures",
        Phrase::NothingChosen => "nothing is chosen from a list",
        Phrase::NoObservations => "no observations",
        Phrase::NoHistory => "no history",
        Phrase::NoConflicts => "no conflicts",
        Phrase::NoVisits => "no visits",
        Phrase::NoPhotos => "no photos yet; record one with `ligule record photo FIELD FILE`",
        Phrase::NoFields => "no fields yet; add one with `ligule field add`",
        // The state of an observation.
        Phrase::StateVoid => "void: {why} ({by})",
        Phrase::StateConflict => "conflict: {measures}",
        // Why values are refused.
        Phrase::RefusedMissing => "`{kind}` needs `--{flag}` ({label}), which is missing",
        Phrase::RefusedAlternatives => "`{kind}` needs {alternatives}",
        Phrase::RefusedEmpty => "`{kind}` needs at least one value; it has {measures}",
        Phrase::RefusedRange => "`--{flag}` of `{kind}` must lie between {low} and {high}, got {got}",
        Phrase::RefusedNegative => "`--{flag}` of `{kind}` counts things and cannot be below zero, got {got}",
        Phrase::RefusedExceeds => "`--{flag}` of `{kind}` must not exceed `--{most}`, got {got} with {limit}",
        Phrase::RefusedExcluded => {
            "`{kind}` takes either `--{flag}` or `--{other}`, not both; record each in an observation of its own"
        }
        Phrase::RefusedMisplaced => {
            "`--{flag}` of `{kind}` goes with `--{chosen}` {codes}, got `--{chosen} {got}`; record each in an \
             observation of its own"
        }
        Phrase::MisplacedOther => {
            "`--{flag}` of `{kind}` goes with `--{chosen}` {codes}, got `--{chosen} {got}`, with which it is `--{other}`"
        }
        Phrase::RefusedUnplaced => {
            "`--{flag}` of `{kind}` goes with `--{chosen}` {codes}, which is missing; give `--{chosen}`"
        }
        Phrase::RefusedUnpaired => {
            "`--{flag}` and `--{other}` of `{kind}` go together number by number, got {got} and {others}"
        }
        Phrase::RefusedDescends => {
            "`--{flag}` of `{kind}` must not go down, got {after} after {before}, in place {place}"
        }
        Phrase::RefusedForm => "`--{flag}` of `{kind}`: expected {expected}, got `{got}`",
        Phrase::FormNumber => "a number",
        Phrase::FormList => "numbers separated by blanks",
        Phrase::FormStage => "a growth stage such as `VE`, `V4`, `VT` or `R1`",
        Phrase::FormDay => "a day as YYYY-MM-DD",
        Phrase::FormTime => "a time such as `2026-06-12T09:40:00-05:00`",
        Phrase::FormText => "a text of at most 16 KiB that is not empty",
        Phrase::ValueRefused => "`--{flag}` of `{kind}`: {why}",
        Phrase::GivenTwice => "`--{flag}` was given twice",
        Phrase::GiveOnce => "give each measure once",
        Phrase::NoSuchMeasure => "`{kind}` has no measure `{name}`",
        Phrase::NoSuchCode => "`--{flag}` of `{kind}`: `{text}` is not one of its codes",
        Phrase::NoSuchKind => "there is no kind `{name}`",
        Phrase::NoSuchField => "there is no field `{name}`",
        Phrase::DayAhead => "`--{flag}`: {day} lies after {today}, today by this device's clock",
        Phrase::CorrectTheTime => "correct the time; if this device's clock is slow, repeat with `--accept-time`",
        Phrase::ControlCharacter => "expected plain text, got the control character {character}",
        Phrase::UnitNotKnown => "its unit `{unit}` is not one that this program knows",
        Phrase::NoUnitExpected => "expected a number without a unit, got `{text}`",
        Phrase::WholeExpected => "expected a whole number, got `{text}`",
        Phrase::NumberExpected => "expected a number such as `{example}`, got `{text}`",
        Phrase::NumberMarks => {
            "expected a number such as `{example}`, got `{text}`: write a point for decimals and no mark for thousands"
        }
        Phrase::SmallestStep => "expected 0, or at least the smallest step that is kept, {least}{unit}, got `{text}`",
        Phrase::CommasExpected => {
            "expected commas between numbers where there are fractions, as in `1 1/4, 1 1/8`, got `{text}`"
        }
        Phrase::TallyExpected => {
            "expected how often a number was seen behind its colon, as in `4:15`, up to {most}, got `{text}`"
        }
        Phrase::SomeHaveUnits => "`--{flag}`: some numbers of `{text}` have a unit and others none",
        Phrase::PartsOrNumbers => "`--{flag}`: `{text}` may be one number in parts or several",
        Phrase::WriteEachUnit => "write {ways}",
        Phrase::TooManyNumbers => "expected at most {most} numbers, got more",
        Phrase::ToldInBushels => "`--{flag}` of `{kind}` is told in bushels, got `{text}` without a unit",
        Phrase::WriteYieldUnit => "write the unit behind it: {ways}",
        Phrase::SeeKind => "see `ligule kind {kind}`",
        Phrase::DidYouMean => "did you mean `{word}`? {all}",
        Phrase::MeasuresAre => "the measures are {words}",
        Phrase::CodesAre => "the codes are {words}",
        Phrase::CodeOfSeveral => "`--{flag}` of `{kind}`: `{text}` may mean several of its codes",
        Phrase::DidYouMeanCode => "did you mean {codes}?",
        Phrase::NearestCodesAre => "the nearest codes are {words}",
        Phrase::AllCodes => "`ligule kind {kind} --codes` shows all",
        Phrase::KindsAre => "the kinds are {words}",
        Phrase::FieldsAre => "the fields are {words}",
        Phrase::AndMore => "{words} and {n} more",
        Phrase::ShowsAll => "; `{command}` shows all",
        Phrase::NoFieldsYet => "there are no fields yet; add one with `ligule field add`, or sync with the crew",
        // What waits for a person.
        Phrase::DoesNotGoTogether => "{key}: {why}; correct what is wrong: {ways}",
        Phrase::MovedApart => "visit {visit} of {field} was moved to different fields, and is told of each; {ways}",
        Phrase::IfItIs => "if {value} is right: {moves}",
        Phrase::SettledByValue => "the value that holds settles a conflict: {ways}",
        Phrase::CorrectedMeanwhile => {
            "{measure} was corrected in {moved} while its visit was moved here; say which value holds: {ways}"
        }
        Phrase::ThereTwice => "{observations} there twice; `ligule field doubles` tells what to do",
        // A sheet that is imported.
        Phrase::SheetNamed => "{file}, sheet `{sheet}`",
        Phrase::SheetTold => "{sheet}: {rows}; the mapping is {origin}",
        Phrase::RowsAs => "{rows} as {kind}",
        Phrase::MappingGuessed => "guessed from the names of the columns",
        Phrase::MappingKept => "kept as `{name}`",
        Phrase::MappingOfFile => "from its file",
        Phrase::MappingIsKept => "the mapping is kept as `{name}` for sheets with the same columns",
        Phrase::UnitBeside => "as `{header}` says",
        Phrase::UnitUntold => "{unit}, which the header does not say",
        Phrase::PlanKnown => "; {n} there already",
        Phrase::PlanDiffering => "; {n} not as imported before",
        Phrase::PlanRejected => "; {n} rejected",
        Phrase::DryRun => "{plan}; this was a dry run, nothing was recorded",
        Phrase::RecordWithMapping => "{plan}. Record with this mapping? [y/N]",
        Phrase::NobodyConfirmed => "nobody has confirmed what the columns tell",
        Phrase::NotConfirmed => "not confirmed",
        Phrase::ConfirmMapping => {
            "if the mapping is right, repeat with `--yes`; correct it with `--column \"NAME=MEANING\"`, `--kind \
             KIND`; nothing was recorded"
        }
        Phrase::HeldBack => "{what}; nothing was recorded",
        Phrase::HeldRejected => "{rows} rejected",
        Phrase::HeldDiffering => "{rows} not as imported before",
        Phrase::MendSheet => "mend the sheet, or record the other rows with `--keep-good`",
        Phrase::SettleDiffering => {
            "correct what is there as told above, or say with `--further` that these are other samples, with \
             `--further=all` that all rows of this sheet are; `--keep-good` records the others"
        }
        Phrase::RowAt => "line {line}{place}: {reason}",
        Phrase::RowColumn => ", column `{column}`",
        Phrase::MoreSuchRows => "{n} more such as these; `--format csv` tells all",
        Phrase::RecordedOnly => "recorded {n}",
        Phrase::NoRows => "no rows",
        Phrase::NoMappings => "no mappings are kept",
        Phrase::MendRow => "mend the row, and put quotation marks around a cell that holds a comma",
        Phrase::NoKindTold => "no kind of observation is told",
        Phrase::NoFieldTold => "no field is told",
        Phrase::NoDayTold => "no day is told",
        Phrase::PlainName => "a name has no control characters",
        Phrase::PlaceNeedsBoth => "a place needs both latitude and longitude",
        Phrase::DateInCell => "the sheet holds a date here; was it a number or a fraction that turned into one?",
        Phrase::PointInNumber => "`{text}` has a point where commas are decimals; write no mark for thousands",
        Phrase::CommaInNumber => {
            "`{text}` has a comma; say `--decimal comma` if it is a decimal one, or write a point for decimals and no \
             mark for thousands"
        }
        Phrase::DateExpected => {
            "expected a date such as `2026-05-28`, `28 May 2026` or `2026-05-28 07:40`, got `{text}`"
        }
        Phrase::TimeExpected => "expected a time such as `07:40` or `7:40 PM`, got `{text}`",
        Phrase::DayNumber => {
            "`{text}` is the number of a day as a spreadsheet keeps it; give the column a date format, or say \
             `--dates serial`"
        }
        Phrase::DateTwoWays => {
            "`{text}` can be read in two ways; say `--dates mdy` for month/day/year or `--dates dmy` for day/month/year"
        }
        Phrase::NoDateMdy => "`{text}` is no date as month/day/year",
        Phrase::NoDateDmy => "`{text}` is no date as day/month/year",
        Phrase::VoidSince => "void since: {why}",
        Phrase::CorrectedSince => "corrected since",
        Phrase::CorrectRow => {
            "to correct it: `ligule amend {key} {amend}`; if it is another sample: `--further`, and where others of \
             this sheet say the same as what is there, `--further=all`"
        }
        // Small words.
        Phrase::WordYes => "yes",
        Phrase::WordNo => "no",
        Phrase::WordAnd => " and ",
        Phrase::WordOr => ", or ",
        // A field and its boundary.
        Phrase::SheetNamesNobody => {
            "no column tells who observed: recorded as seen by {by}; if another device imports this sheet, one of its \
             people is told; `--by NAME`, the same everywhere, says who it was"
        }
        Phrase::NobodyAnswers => {
            "no answer from {address} within {seconds} s: check that `ligule sync serve` runs there, that both devices are in \
             the same network, and that its firewall lets UDP through"
        }
        Phrase::NobodyNearby => {
            "found no other device of the crew nearby in {seconds} s; check that one of them is serving and in the same \
             network; many access points keep devices apart or block multicast: then type its address (`IP:PORT`), connect \
             both to a phone's hotspot, or carry a bundle file"
        }
        Phrase::NoMemberThere => {
            "the device at {address} is none of the other members that this device knows ({tried}); if it has just \
             joined, sync with the member who admitted it, or type its id too: `{address}#DEVICE`"
        }
        Phrase::ConnectionBroke => {
            "the connection broke off ({reason}); what was acknowledged is kept, start again for the rest"
        }
        Phrase::DeviceFellSilent => {
            "the other device fell silent for {seconds} s; what was acknowledged is kept, start again for the rest"
        }
        Phrase::NotOfTheCrew => {
            "the other device refused: it does not know this one as a member of its crew; ask a member for an invitation"
        }
        Phrase::RemovedHere => {
            "this device was removed from the crew, and the others exchange nothing with it; to belong to it again, ask a \
             member to invite it (`ligule crew invite` there, `ligule crew join INVITATION` here): what it has not handed \
             over is exchanged then. Whatever it holds stays on it, and `ligule journal export` writes all of it into a file"
        }
        Phrase::DeviceWasRemoved => {
            "{by} removed the device {device} of {person} from the crew at {at}; nothing is taken in from it"
        }
        Phrase::RemovedCanReturn => {
            "what it recorded and did not hand over before can still come: invite it again (`ligule crew invite` here, \
             `ligule crew join INVITATION` there), then exchange records, or have it write a new bundle"
        }
        Phrase::FieldNowRetired => "retired field {field}",
        Phrase::FieldTakenBack => "took back field {field}",
        Phrase::FieldIsSplit => "retired field {field}; its records stay with it",
        Phrase::PlantingCopied => "the planting {key} is copied to each part",
        Phrase::PlantingWaits => "the planting {key} waits for a person (`ligule conflicts`), and was not copied",
        Phrase::FieldMerged => "merged {part} into {field}",
        Phrase::TwiceHere => "{observations} there twice, and told twice: see `ligule field doubles {field}`",
        Phrase::JournalWhole => "{documents} and {observations} are whole",
        Phrase::FieldRetired => "{field} is retired; `ligule field retire --undo {field}` takes it back into the lists",
        Phrase::FieldWasSplit => {
            "{field} is retired, and was split into {parts}; what belongs to a part goes there with `ligule \
             visit move VISIT PART`"
        }
        Phrase::OnSplitField => {
            "{field} was split into {parts}, and {observations} came to it after that; `ligule visit move {visit} PART` puts \
             a visit where it belongs"
        }
        Phrase::SplitTwoWays => {
            "{field} was split two ways, which lie on the same ground, so that its planting may be counted for each: {into}. Where \
             two parts are one, `ligule field merge PART OTHER`. Where one way is wrong, put its visits where they belong \
             (`ligule visit move VISIT PART`); then, {keep}"
        }
        Phrase::KeepThisSplit => "to keep {parts}: {lines}",
        Phrase::OnRetiredField => {
            "{field} was retired, and {observations} came to it after that; it is in no list: `ligule visit move {visit} FIELD` \
             puts a visit where it belongs, `ligule field retire --undo {field}` takes the field back into the lists"
        }
        Phrase::ClockBehindField => {
            "this device's clock tells {now}, but {field} was added on {day}: if the clock is wrong, set it, or tell the \
             time with `--at`"
        }
        Phrase::ClockBehindRecords => {
            "this device's clock tells {now}, but {field} was last seen on {day}: if the clock is wrong, set it, or tell \
             the time with `--at`"
        }
        Phrase::ClockAhead => {
            "the clock of {person}'s device is {span} ahead of this device's, which reads {now}: one of the two is wrong; \
             set it to the true time before recording more. Every record keeps the time that its device told; void what a \
             wrong clock dated, and record it again with `--at`"
        }
        Phrase::ClockBehind => {
            "the clock of {person}'s device is {span} behind this device's, which reads {now}: one of the two is wrong; \
             set it to the true time before recording more. Every record keeps the time that its device told; void what a \
             wrong clock dated, and record it again with `--at`"
        }
        Phrase::VoidedWhileMoved => {
            "{by} voided {key} (\"{why}\") while it was moved to {field}: its copy {copy} is void too"
        }
        Phrase::SittingMoved => {
            "what was recorded in this sitting was moved to {to}: what is recorded now is of {field}, in a visit of its own; \
             where you are in {to}, `quit`, then `ligule visit {to}`"
        }
        Phrase::AboutYears => "about {years} years",
        Phrase::DatedByWrongClock => {
            "a clock of {person}'s device was wrong: {observations} a time that cannot be: {which}; all of them: {lists}; \
             void each and record it again with `--at`"
        }
        Phrase::DatedBeforeField => {
            "a clock was wrong, of {person}'s device or of the one that added the field: {observations} before the field \
             was added: {which}; all of them: {lists}; void each and record it again with `--at`"
        }
        Phrase::WronglyDated => "{key} ({kind} on {field}, {at})",
        Phrase::DatedBefore => "{key} ({kind} on {field}, {at}; the field was added on {added})",
        Phrase::ChangesOfWrongClock => {
            "a clock was wrong: {changes} of {of} came that tell a time that cannot be; the values hold, and `ligule \
             history OBSERVATION` shows the time that each claims"
        }
        Phrase::ChangesBeforeOthers => {
            "a clock was wrong, of {person}'s device or of another: {changes} of {of} came that tell an earlier time ({at}) \
             than what they were made after ({after}): {which}; `ligule history OBSERVATION` shows the time that each \
             claims. Void what a wrong clock dated, and record it again with `--at`"
        }
        Phrase::InvitationOver => "{why}. By this device's clock, which reads {now}, the invitation expired {span} ago",
        Phrase::InvitationServesOne => {
            "an invitation serves one device, and only while `ligule crew invite` runs; ask for a new one"
        }
        Phrase::InvitationOrClock => {
            "ask for a new one: an invitation serves one device, and only while `ligule crew invite` runs; set this \
             device's clock if it is wrong"
        }
        Phrase::InsideBoundary => "inside the boundary of {field}",
        Phrase::OutsideBoundary => "{far} outside the boundary of {field}",
        // When and where.
        Phrase::WhenExpected => "expected a time such as `2026-05-28T07:40`, `2026-05-28` or `07:40`, got `{text}`",
        Phrase::WhenAtTheField => "the time is read in the field's time zone",
        Phrase::WhenSkipped => "`{text}` does not exist at the field: the clocks were set forward over it",
        Phrase::WhenOnTheClock => "give the time that the clock showed",
        Phrase::WhenAhead => "`{text}` lies in the future; this device's clock says {clock}",
        Phrase::WhenTooEarly => "expected a day from 1970-01-01 on, got `{text}`",
        Phrase::WhenTwice => {
            "the field's clocks showed {clock} twice, as they were set back that day: taken is the first, {first}; the second \
             would be {second}"
        }
        Phrase::RowsTwice => {
            "the time of {n} came twice, as the field's clocks were set back that day (first in line {line}): taken is the \
             first, {first}; the second would be {second}"
        }
        Phrase::CheckTheYear => "check the year",
        Phrase::ZoneUnknown => "`{name}` is no IANA time zone",
        Phrase::ZoneForm => "write it as region and city, such as `America/Chicago` or `America/Toronto`",
        Phrase::PlaceExpected => "expected latitude, -90 to 90, and longitude, -180 to 180, in degrees, got `{text}`",
        Phrase::PlaceForm => "for example `42.0318,-93.6203`",
        Phrase::NoFieldDrawn => "no field has a boundary, so that a place tells no field",
        Phrase::NameOrDraw => "name the field, or bring in boundaries with `ligule field import FILE`",
        Phrase::NoFieldNear => "no field lies within {far} of the place; the nearest: {fields}",
        Phrase::NameTurnedRound => "name the field; are latitude and longitude the right way round?",
        Phrase::PlaceInSeveral => "the place lies in several fields: {fields}",
        Phrase::PlaceNearSeveral => "several fields are about as near: {fields}",
        Phrase::NameMeant => "name the field that is meant",
        Phrase::WhichObserved => "which field was observed?",
        Phrase::WhichVisited => "which field is visited?",
        Phrase::NameObserved => {
            "name it, as in `ligule record stand-count north-40 …`, or say where you stand with `--near LAT,LON`"
        }
        Phrase::NameVisited => "name it, as in `ligule visit north-40`, or say where you stand with `--near LAT,LON`",
        Phrase::FieldsOfOneName => "{n} fields are called `{name}`: {ids}",
        Phrase::MergeOrRename => {
            "if they are one, `ligule field merge {name}`; if not, name the field by its id, or rename one with \
             `ligule field amend ID --name NEW-NAME`"
        }
        Phrase::NobodyObserved => "`--by` names nobody",
        Phrase::NameWhoObserved => "give the name of who observed",
        Phrase::ObservedAtStation => "`{kind}` is observed at a station, not on a field",
        Phrase::ImportWeather => "use `ligule import weather FILE`",
        Phrase::DayAfterObservation => "`--{flag}`: {day} lies after {observed}, the day of the observation",
        Phrase::CorrectOrSayWhen => "correct `--{flag}`, or say with `--at` when it was observed",
        Phrase::DayOfOtherSeason => {
            "`--{flag}`: {day} lies in another season than the observation, which belongs to {season}"
        }
        Phrase::CorrectOrRecordThen => "correct `--{flag}`, or record it in its own season, as with `--at {day}`",
        Phrase::MendThese => "mend these; nothing was recorded",
        Phrase::MendTheseLines => "mend these lines; nothing was recorded",
        // Correcting and visits.
        Phrase::NoSuchObservation => "no observation `{key}` in this journal",
        Phrase::ListShowsThem => "`ligule list` shows the observations",
        Phrase::VoidWins => "{key} is void, and a void wins over a correction",
        Phrase::RecordAnew => "record the observation anew",
        Phrase::VoidNeedsReason => "a void needs a reason",
        Phrase::SayWhy => "say why with `--why`",
        Phrase::VoidAlready => "{key} is void already: {why} ({by})",
        Phrase::HistoryShowsIt => "its history shows it",
        Phrase::ReasonOfMove => "`{why}` is what a move writes, and would be read as one",
        Phrase::MoveOrReword => "move the visit with `ligule visit move`, or say it in other words",
        Phrase::KindOfOthers => "this device does not know the kind `{kind}` and keeps it as it is",
        Phrase::CorrectWhereKnown => "correct it on a device that knows the kind",
        Phrase::MeasureExpected => "expected a measure as `--plants`, got `{word}`",
        Phrase::QuoteBlanks => "quote a value that holds blanks",
        Phrase::FlagWithoutValue => "`--{flag}` has no value",
        Phrase::WriteFlagValue => "write `--{flag} VALUE`",
        Phrase::NoSuchVisit => "there is no visit `{name}`",
        Phrase::SeveralVisits => "several visits begin with `{name}`; give more of it",
        Phrase::NoVisitOfAField => "`{name}` is no visit of a field",
        Phrase::VisitListShows => "`ligule visit list FIELD` shows the visits",
        Phrase::VisitThereAlready => "the visit is of {field} already",
        Phrase::NameAnotherField => "name another field",
        Phrase::VisitAllVoid => "every observation of the visit of {field} is void",
        Phrase::VisitMovedAlready => "the visit was moved from {field} already, to {to}",
        Phrase::MoveOnFromThere => "`ligule visit move {visit} {field}` moves it on from there",
        Phrase::NothingToMove => "`ligule visit show` tells why; there is nothing to move",
        Phrase::VisitWaits => "{measures} of {key} waits for a person to decide",
        Phrase::ResolveThenMove => "settle it with `ligule resolve` first, then move the visit",
        Phrase::VisitMovedTold => "moved {n} from {from} to {to}, visit {visit}",
        Phrase::VoidLeftThere => "; {n} on {field}",
        Phrase::CopyDiffers => "{name} of {original} is {there}, its copy {copy} has {here}",
        Phrase::NothingThere => "nothing",
        Phrase::ResolveOnCopy => "{difference}; `ligule resolve` on the copy says which holds",
        Phrase::VisitsApart => {
            "a visit was moved to different fields on two devices; `ligule conflicts` tells what to do"
        }
        Phrase::AnswerUnread => "the answer cannot be read: {error}",
        Phrase::AnswersKept => "answers before it are kept; `ligule visit FIELD` goes on",
        Phrase::SampleUnfinished => "on {field} an observation is not whole yet that was begun on another visit",
        Phrase::GoOnOrGiveUp => "go on with it without naming kinds or a time, or give it up with `--new`",
        Phrase::AgainExpected => "expected `again` or Enter, got `{line}`",
        Phrase::BehindIsRecorded => "the sample behind this question is recorded: there is no way back to its answers",
        Phrase::AmendCorrects => "to correct what was recorded use `ligule amend`",
        Phrase::NoSampleYet => "there is no sample yet of which to take another",
        Phrase::AnswerOrSkipKind => "answer, or `skip`",
        Phrase::FirstQuestion => "this is the first question",
        Phrase::AnswerSkipOrQuit => "answer it, `skip` the kind, or `quit`",
        Phrase::OfferedAgain => "the answers are offered again; `skip` gives them up",
        Phrase::VisitElsewhere => "the visit of {field} goes on elsewhere; nothing was recorded here",
        Phrase::GoOnThere => "go on where it was taken over, or start `ligule visit` again",
        // Photos.
        Phrase::PictureExpected => "name a picture of at most 200 MB; nothing was recorded",
        Phrase::NoSuchFile => "{file}: there is no such file",
        Phrase::NoPicture => "{file} is no picture by its content",
        Phrase::PicturesKept => "kept are JPEG, PNG, HEIC, WebP and TIFF; nothing was recorded",
        Phrase::HashExpected => {
            "`--{flag}` of `{kind}`: expected a BLAKE3 hash, 64 hexadecimal digits in lower case, got `{text}`"
        }
        Phrase::NameTheFile => "name the file instead: `ligule record photo FIELD FILE`",
        Phrase::PhotoThere => "{file} is recorded there already, as {key}; nothing was recorded",
        Phrase::PhotoKnown => "{file}: recorded there already, as {key}",
        Phrase::PhotoAmend => "`ligule amend {key} {words}` says it of that one",
        Phrase::PhotoOtherTime => {
            "{file}: the camera tells another time or place than {key} does, which stays; to take the camera's, `ligule void \
             {key} --why \"recorded anew\"`, then the same again"
        }
        Phrase::PhotoCut => {
            "{file} seems to be cut off or damaged: its end is missing; it is kept as it is; if there is a whole one, record \
             that, too"
        }
        Phrase::NoImageInIt => "{file} begins like a picture and ends before any part of the image",
        Phrase::PictureAnew => "copy it anew from the camera; nothing was recorded",
        Phrase::PhotoAnew => {
            "time, place and person of a record stay: `ligule void {key} --why \"recorded anew\"`, then the same again"
        }
        Phrase::NoSuchPhoto => "there is no photo `{name}`",
        Phrase::SeveralPhotos => "several photos begin with `{name}`",
        Phrase::PhotoListShows => {
            "`ligule photo list` shows the photos; name the observation, or at least 8 digits of the hash"
        }
        Phrase::PhotoNotHere => "photo {photo} is missing on this device",
        Phrase::PhotoDamaged => "photo {photo} is damaged on this device",
        Phrase::PhotosNotHere => "{n} not on this device: {mend}",
        Phrase::PhotoMend => crate::photos::MEND,
        Phrase::PhotoUntimed => "{file} does not tell when it was taken",
        Phrase::GivePhotoTime => "give the time with `--at`, or leave out `--from-exif`; nothing was recorded",
        Phrase::TakenAt => "taken at {at}",
        Phrase::TakenIn => "taken at {place}",
        Phrase::TakenAtIn => "taken at {at}, at {place}",
        Phrase::PhotoTold => "{file}: {told} (EXIF)",
        Phrase::PhotoToldUnused => {
            "{file}: {told} (EXIF); not used; to record it so, void the observation and record the file again with \
             `--from-exif`"
        }
        Phrase::PhotoToldAsk => "{file}: {told} (EXIF). Record it so? [y/N]",
        Phrase::PhotoWrote => "wrote {file}",
        // Far places.
        Phrase::PlaceAway => "{field} ({far} away)",
        Phrase::PlaceTooFar => "{place} lies {far} from {field}",
        Phrase::PlaceOfNoPart => "{place} lies in no part of {country}, where {field} lies",
        Phrase::LatitudeFirst => {
            "latitude comes first, and longitudes west of Greenwich take a minus, as in `42.0318,-93.6203`"
        }
        // Labels of messages.
        Phrase::LabelHint => "hint:",
        // Numbers that can be read in two ways.
        Phrase::NumberTwoWays => "`--{flag}` of `{kind}`: `{text}` may be {decimal} or {whole}",
        Phrase::WriteDecimalOrWhole => {
            "write `{decimal}` where the mark is a decimal one, `{whole}` where it stands at the thousands"
        }
        Phrase::OneNumberOrTwo => "`--{flag}` of `{kind}`: `{text}` may be one number or two",
        Phrase::WriteOneOrTwo => "write `{one}` for one, `{two}` for two",
        // Lines of a file and flags in a row.
        Phrase::LineOf => "{file}, line {n}",
        Phrase::QuoteOpen => "a quotation mark is not closed",
        Phrase::KindAndFieldExpected => "expected a kind and a field",
        Phrase::NoLines => "{file} holds no lines to record",
        Phrase::OneALine => "write one observation a line",
        Phrase::FileUnread => "cannot read {file}: {error}",
        Phrase::NameTextFile => "name a text file, or `-` for standard input",
        Phrase::NothingToRecord => "nothing to record",
        Phrase::NameKindAndField => {
            "name a kind and a field, as in `ligule record stand-count north-40 …`, or a file with `--lines`; \
             `ligule kind` lists the kinds"
        }
        Phrase::FlagGivenTwice => "a flag was given twice",
        Phrase::EachOnceForFiles => "give each once; several files are recorded with the same values",
        Phrase::FlagBehindAnd => {
            "`--{flag}` behind `--and` would be of that observation alone; write it before the first `--and`, or with each"
        }
        Phrase::DayLongAgo => {
            "the year {year} lies {years} years back; if it is misspelt, `ligule void` takes the observation out"
        }
        Phrase::NumberUnread => "{n} (as kept: its unit is not known on this device)",
        Phrase::NoFilesBehindAnd => "behind `--and` no file is named; give pictures a command of their own",
        Phrase::GivenUnlikeTimes => "`--{most}` was given {number} times, `--{flag}` {times} times",
        Phrase::GiveOnceOrEach => {
            "give `--{flag}` once, for all of them, or {number} times, once for each; nothing was recorded"
        }
        // The journal, the crew, fields.
        Phrase::JournalStarted => "journal started in {folder}",
        Phrase::PersonAndCrew => "person {person}, crew \"{crew}\", device {device}",
        Phrase::CrewHolds => "crew \"{crew}\"; what this device holds has the digest {digest}",
        Phrase::CrewReads => "reads in {system} units, language {language}",
        Phrase::CrewReadsNow => "recorded: the crew reads in {system} units, language {language}",
        Phrase::NoMembers => "no members",
        Phrase::FieldRecorded => "recorded field {field} ({grower}, {region})",
        Phrase::FieldNameExpected => "expected a short name of letters, digits and dashes, got `{name}`",
        Phrase::FieldNameForm => "for example `north-40`",
        Phrase::FieldNameTaken => "the crew has a field `{name}` already; choose another name",
        Phrase::GrowerNobody => "`--grower` names nobody",
        Phrase::NameGrower => "give the name of who farms the field",
        Phrase::GiveFieldQuantity => "give a number and its unit, such as `30in` or `40ac`",
        Phrase::OutOfRange => "`{text}` is out of range",
        // What the columns of a sheet tell.
        Phrase::NoKindOfColumns => "the columns tell no kind of observation",
        Phrase::SayWhichKind => "say which with `--kind KIND`; `ligule kind` lists the kinds",
        Phrase::HeaderLower => "{say}; where the names of the columns stand lower, `--header-row N` says so",
        Phrase::TwoKindsFit => "the columns fit `{one}` as well as `{other}`",
        Phrase::NoKindWhole => "the columns fit no kind whole; the nearest is `{kind}`{lacks}",
        Phrase::ColumnsLack => ", for which no column tells {lacks}",
        Phrase::NameColumnsOf => {
            "if it is that, say `--kind {kind}`, and name the columns that tell it with `--column \
             \"NAME=MEASURE\"`, or add them to the sheet"
        }
        Phrase::NoSuchMeaning => "`{header}`: `{name}` is no measure, and no other thing that a column can tell",
        Phrase::MeaningsAre => "the things are {words}",
        Phrase::NoSuchColumn => "there is no column `{header}`",
        Phrase::SeveralColumns => "several columns are called `{header}`",
        Phrase::ColumnsAre => "the columns are {words}",
        Phrase::ColumnTwice => {
            "`{header}` tells `{measure}`, too; it is taken from `{other}`, and nothing of `{header}` is recorded; to turn \
             that round say `{say}`"
        }
        Phrase::OneNameTwice => {
            "two columns are called `{header}`, and they differ: in line {line} one says `{one}`, the other `{other}`"
        }
        Phrase::RenameColumn => "rename the one that is not meant, or take it out; then import again",
        Phrase::HiddenRows => "the workbook hides {n}, by a filter or by hand; what is hidden is read, too",
        Phrase::NothingOfColumns => "nothing of {columns} is recorded",
        Phrase::DatesMdy => "dates are month/day/year: `{example}` in `{header}` can be nothing else",
        Phrase::DatesDmy => "dates are day/month/year: `{example}` in `{header}` can be nothing else",
        Phrase::DatesMixed => "the dates in `{header}` are not in one order: {one} and {other}",
        Phrase::MendDates => {
            "mend them, or say `--dates mdy` for month/day/year or `--dates dmy` for day/month/year; those in \
             another order are then rejected"
        }
        Phrase::KindUntold => "nothing tells which kind of observation the rows are",
        Phrase::BothTell => "the columns `{one}` and `{other}` both tell {meaning}",
        Phrase::SayWhichIdle => "say which tells nothing, as in `--column \"{header}=nothing\"`",
        Phrase::FieldUntold => "no column tells which field each row is about",
        Phrase::NameFieldColumn => {
            "name the column, as in `--column \"{header}=field\"`, or say `--field NAME` for all rows"
        }
        Phrase::DayUntold => "no column tells on which day each row was observed",
        Phrase::NameDayColumn => {
            "name the column, as in `--column \"{header}=day\"`, or say `--on YYYY-MM-DD` for all rows"
        }
        Phrase::NameBothOrNeither => "name both columns, or neither",
        Phrase::LongNeedsBoth => "a row for each value needs a column for the measure's name and one for its value",
        Phrase::NameBothLong => "name both columns, as in `--column \"what=measure-name\"`",
        Phrase::NoColumnMeasures => "no column tells a measure",
        Phrase::NameMeasureColumn => {
            "name one, as in `--column \"{header}={measure}\"`; `ligule kind` shows the measures"
        }
        Phrase::WordColumn => "COLUMN",
        // What an exchange brought.
        Phrase::Exchanged => {
            "exchanged with {person}: {changes_in} in, {changes_out} out, {differing} of {documents} differed, \
             {bytes_in} in, {bytes_out} out"
        }
        Phrase::PhotosExchanged => "{received} in, {sent} out, {size_in} in, {size_out} out",
        Phrase::ForAPerson => "{conflicts} for a person; see `ligule conflicts`",
        Phrase::NotTakenIn => "not taken in: {refused}",
        Phrase::ListeningOn => {
            "listening on {addresses} (other devices of the crew reach it with `ligule sync with {first}`)"
        }
        Phrase::ListeningNearby => {
            "listening; other devices of the crew find it with `ligule sync with` on the same network"
        }
        Phrase::AndPhotos => ", and {photos}, {size}",
        Phrase::BundleTaken => "{file} from {person}: {changes} in {documents}{photos}",
        Phrase::PersonJoined => "{person} joined with device {device}",
        Phrase::SyncNext => {
            "`ligule sync with` brings the crew's records next, while another device of the crew runs `ligule sync serve`"
        }
        Phrase::CrewJoined => "joined the crew \"{crew}\" of {inviter}",
        Phrase::CameAlong => "{observations} recorded here before came along",
        // A list of codes.
        Phrase::CodesOfList => "list {list}",
        // Members of the crew.
        Phrase::MemberHere => "this device",
        Phrase::MemberOfCrew => "member",
        Phrase::MemberRemoved => "removed",
        // Nothing to resolve.
        Phrase::NotInConflict => "`{measure}` of {key} is not in conflict",
        Phrase::ConflictsShow => "`ligule conflicts` shows what waits; `ligule amend` corrects a value",
        // A column without a unit.
        Phrase::UnitTaken => "`{header}` tells no unit: its numbers are taken in {unit}",
        // The help of what can be recorded.
        Phrase::HelpMeasures => "Measures",
        Phrase::HelpTimeAndPlace => "Time and place",
        Phrase::HelpExample => "Example:",
        Phrase::HelpSeveral => {
            "Several in one go: a flag that is given once holds for all, one that is given several times tells each."
        }
        Phrase::HelpField => "The field, by its name; left out where `--near` tells it",
        Phrase::HelpAt => {
            "When it was observed: `2026-05-28T07:40` or `07:40` today, in the field's time zone [default: now]"
        }
        Phrase::HelpNear => "Where, in degrees: `42.03,-93.62`; without FIELD it finds the field by its boundary",
        Phrase::HelpBy => "Who observed [default: the person of this journal]",
        Phrase::HelpAcceptTime => "Record a time that lies in the future of this device's clock",
        Phrase::HelpAnd => {
            "Another observation of the same field, time and person, as one would type it after `ligule record`; \
             all are recorded or none"
        }
        Phrase::HelpCodes => "codes: `ligule kind {kind} --codes`",
    }
}

/// One and several of a thing.
pub(super) fn noun(noun: Noun) -> (&'static str, &'static str) {
    match noun {
        Noun::Plant => ("plant", "plants"),
        Noun::Seed => ("seed", "seeds"),
        Noun::Count => ("count", "counts"),
        Noun::MoreCount => ("more count", "more counts"),
        Noun::Gap => ("gap", "gaps"),
        Noun::Value => ("value", "values"),
        Noun::Day => ("day", "days"),
        Noun::Place => ("place", "places"),
        Noun::Part => ("part", "parts"),
        Noun::Observation => ("observation", "observations"),
        Noun::RecordedObservation => ("observation is recorded", "observations are recorded"),
        Noun::VoidObservation => ("observation is", "observations are"),
        Noun::ObservationTwice => ("observation is", "observations are"),
        Noun::Row => ("row", "rows"),
        Noun::RowHeld => ("row is", "rows are"),
        Noun::NewObservation => ("new observation", "new observations"),
        Noun::FieldOfCrew => ("field", "fields"),
        Noun::VoidStaying => ("stays void", "stay void"),
        Noun::PhotoIs => ("photo is", "photos are"),
        Noun::Change => ("change", "changes"),
        Noun::Document => ("document", "documents"),
        Noun::Byte => ("byte", "bytes"),
        Noun::Photo => ("photo", "photos"),
        Noun::ConflictWaits => ("conflict waits", "conflicts wait"),
        Noun::NewChange => ("new change", "new changes"),
        Noun::NewPhoto => ("new photo", "new photos"),
        Noun::ObservationTells => ("observation tells", "observations tell"),
        Noun::ObservationDated => ("observation is dated", "observations are dated"),
    }
}
