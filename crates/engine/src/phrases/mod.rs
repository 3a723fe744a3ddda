//! The sentences that people read, a file a language.
//!
//! A sentence is named once, in [`Phrase`]; each language says it, and the compiler holds every file to be whole.
//! `{name}` stands for what is put in; a test holds all languages to put in the same. What developers and programs read
//! (most errors, logs, JSON) is English and does not lie here; nor do sources, which stand as they were published.

mod en;
mod es;

use std::fmt::Display;

use crate::error::{listed, nearest};
use crate::reading::Reading;

/// Declares an enum together with the list of all its values.
macro_rules! named {
    ($(#[$about:meta])* $name:ident { $($one:ident),* $(,)? }) => {
        $(#[$about])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        #[expect(missing_docs, reason = "`en.rs` says what each of them is")]
        pub enum $name { $($one),* }

        #[cfg(test)]
        impl $name {
            const ALL: &[Self] = &[$(Self::$one),*];
        }
    };
}

named!(
    /// A sentence, or the part of one that stands by itself.
    Phrase {
        // Recording and correcting.
        Recorded,
        RecordedMany,
        OnField,
        AtPlace,
        PlaceWord,
        ByPerson,
        StaysAs,
        OtherCrop,
        OtherThanUsual,
        StateImpossible,
        SaidRecorded,
        NewPerson,
        NewPersonNear,
        SaidBefore,
        SaidBeforeMany,
        NowIs,
        ResolvedIs,
        IsVoid,
        // What an observation amounts to.
        PlantsIn,
        MeanSoFar,
        DepthSoFar,
        DepthOff,
        FieldAt,
        FieldAtBy,
        ShareFound,
        ShareInterval,
        PestSoFar,
        CrownAdded,
        SurfaceCounts,
        PlantsCountBefore,
        FoundOnPlants,
        FoundInNights,
        FoundInTraps,
        EstimateOfEars,
        EstimateOfPods,
        EstimateByKernels,
        Affected,
        MeanOf,
        StandardDeviation,
        DoublesAndSkips,
        StudiesFindLoss,
        AnotherCountTells,
        ShareReached,
        MoreToShare,
        // A visit in one sitting.
        VisitGoesOn,
        VisitBegins,
        SampleOfAnotherDay,
        AgainOrNext,
        AgainOrFinish,
        NotAskedNow,
        VisitKept,
        VisitOver,
        VisitTakenOver,
        AnswerNeeded,
        AnswerOrSkip,
        AgainGivesUp,
        GivenUp,
        PhotoFile,
        RangeOf,
        SittingWords,
        VisitOf,
        VisitWord,
        VisitMoved,
        VisitThere,
        AndTo,
        MovedTo,
        MovedFrom,
        MovedAlso,
        CopiedFrom,
        MovedAs,
        MovedToWord,
        CopiedFromWord,
        VoidWord,
        // Whether people may enter.
        KeepOut,
        KeepOutFromDay,
        SprayedAnotherDay,
        ReentryUnknown,
        ReentryDisputed,
        ReentryNotRecorded,
        KeepOutBrief,
        AskBrief,
        LabelIsLaw,
        AskTheApplicator,
        // An assessment: the words at the head of its lines.
        HeadReentry,
        HeadRemark,
        HeadPlanted,
        HeadStand,
        HeadSpacing,
        HeadStage,
        HeadHeight,
        HeadDepth,
        HeadDegreeDays,
        HeadHail,
        HeadFrost,
        HeadPest,
        HeadDisease,
        HeadWeed,
        HeadSoil,
        HeadRoots,
        HeadEstimate,
        HeadHarvest,
        HeadNote,
        HeadSetAside,
        HeadVoid,
        HeadNotAssessed,
        // An assessment: its lines.
        AssessmentOf,
        CropNotRecorded,
        Ago,
        RowsOf,
        SetDeep,
        Interval,
        Variation,
        ShareOfSeeds,
        MoreCounts,
        PlantsFromTo,
        BehindTwo,
        BeyondBounds,
        FromTo,
        MissingDays,
        WeatherOf,
        LetsExpect,
        FoundOf,
        PlantsPer,
        Tall,
        OnlyCutCounted,
        CutNotCounted,
        SetAsideOf,
        VoidInNone,
        OfIntended,
        LossAt,
        PlantsLost,
        LeafLost,
        LeafLostPlaces,
        EventOf,
        AtStage,
        YieldLoss,
        OfLeafLoss,
        OfPlantLoss,
        GrowingPoint,
        Severity,
        HighestLeaf,
        EstimateFactors,
        AtStandard,
        AsTold,
        Moisture,
        TestWeight,
        StandKept,
        Barren,
        Lodged,
        // Cautions, what was set aside, what is lacking.
        NoPlanting,
        NoSeedingRate,
        NoStandCount,
        NoStage,
        OneCount,
        FewCounts,
        Patchy,
        EarlierCounts,
        MorePlantsThanSeeds,
        NoArea,
        NoRowWidth,
        CountUnusable,
        SampleRows,
        SampleOfRows,
        SampleHoop,
        SamplePlanting,
        PlantingLater,
        PlantingsDiffer,
        PlantingOn,
        CropNotSettled,
        CollarsExpected,
        FewPlantsForStage,
        SplitStalk,
        StageExpected,
        StageAsOne,
        ValueUnusable,
        ShallowSeeds,
        CrownOverstates,
        DegreeDaysCornOnly,
        NoStation,
        StationLacksDays,
        TooManyMissing,
        EmergenceDiffers,
        MorningStation,
        RatePurdue,
        RateIowa,
        NotEmerged,
        TasselOrLater,
        MothsNoShare,
        NotTogether,
        NothingCounted,
        NumbersExpected,
        InConflict,
        StudiesDisagree,
        FewGaps,
        NoIntended,
        TooSoon,
        NoLossForSoybean,
        NoLossForFrost,
        NoDamageStage,
        LossOutside,
        NoStandBefore,
        NotASettlement,
        EstimateOff,
        UsualFactor,
        SeedsInBushelLacking,
        EstimateToldOnly,
        BasisUnknown,
        WetWithoutMoisture,
        PartsWithoutArea,
        // Kinds.
        KindHow,
        KindAskedFor,
        KindOnlyWhere,
        TypeQuantity,
        TypeCount,
        TypeChoice,
        TypeStage,
        TypeDay,
        TypeList,
        TypeText,
        // Listings without rows.
        NoKinds,
        NoMeasures,
        NothingChosen,
        NoObservations,
        NoHistory,
        NoConflicts,
        NoVisits,
        NoPhotos,
        NoFields,
        // The state of an observation.
        StateVoid,
        StateConflict,
        // Why values are refused.
        RefusedMissing,
        RefusedAlternatives,
        RefusedEmpty,
        RefusedRange,
        RefusedNegative,
        RefusedExceeds,
        RefusedExcluded,
        RefusedMisplaced,
        MisplacedOther,
        RefusedUnplaced,
        RefusedUnpaired,
        RefusedDescends,
        RefusedForm,
        FormNumber,
        FormList,
        FormStage,
        FormDay,
        FormTime,
        FormText,
        ValueRefused,
        GivenTwice,
        GiveOnce,
        NoSuchMeasure,
        NoSuchCode,
        NoSuchKind,
        NoSuchField,
        DayAhead,
        CorrectTheTime,
        ControlCharacter,
        UnitNotKnown,
        NoUnitExpected,
        WholeExpected,
        NumberExpected,
        NumberMarks,
        SmallestStep,
        CommasExpected,
        TallyExpected,
        SomeHaveUnits,
        PartsOrNumbers,
        WriteEachUnit,
        TooManyNumbers,
        ToldInBushels,
        WriteYieldUnit,
        SeeKind,
        DidYouMean,
        MeasuresAre,
        CodesAre,
        CodeOfSeveral,
        DidYouMeanCode,
        NearestCodesAre,
        AllCodes,
        KindsAre,
        FieldsAre,
        AndMore,
        ShowsAll,
        NoFieldsYet,
        // What waits for a person.
        DoesNotGoTogether,
        MovedApart,
        IfItIs,
        CorrectedMeanwhile,
        SettledByValue,
        ThereTwice,
        // Why devices did not come to exchange.
        NobodyAnswers,
        NobodyNearby,
        NoMemberThere,
        ConnectionBroke,
        DeviceFellSilent,
        NotOfTheCrew,
        RemovedHere,
        DeviceWasRemoved,
        RemovedCanReturn,
        // A sheet that is imported.
        SheetNamed,
        SheetTold,
        RowsAs,
        MappingGuessed,
        MappingKept,
        MappingOfFile,
        MappingIsKept,
        UnitBeside,
        UnitUntold,
        PlanKnown,
        PlanDiffering,
        PlanRejected,
        DryRun,
        RecordWithMapping,
        NobodyConfirmed,
        NotConfirmed,
        ConfirmMapping,
        HeldBack,
        HeldRejected,
        HeldDiffering,
        MendSheet,
        SettleDiffering,
        RowAt,
        RowColumn,
        MoreSuchRows,
        RecordedOnly,
        NoRows,
        NoMappings,
        MendRow,
        NoKindTold,
        NoFieldTold,
        NoDayTold,
        PlainName,
        PlaceNeedsBoth,
        DateInCell,
        PointInNumber,
        CommaInNumber,
        DateExpected,
        TimeExpected,
        DayNumber,
        DateTwoWays,
        NoDateMdy,
        NoDateDmy,
        VoidSince,
        CorrectedSince,
        CorrectRow,
        // Small words.
        WordYes,
        WordNo,
        WordAnd,
        WordOr,
        // A field and its boundary.
        FieldRetired,
        FieldNowRetired,
        FieldTakenBack,
        FieldIsSplit,
        PlantingCopied,
        PlantingWaits,
        FieldMerged,
        TwiceHere,
        JournalWhole,
        SheetNamesNobody,
        FieldWasSplit,
        OnSplitField,
        SplitTwoWays,
        KeepThisSplit,
        OnRetiredField,
        ClockBehindField,
        ClockBehindRecords,
        ClockAhead,
        ClockBehind,
        AboutYears,
        VoidedWhileMoved,
        SittingMoved,
        DatedByWrongClock,
        DatedBeforeField,
        WronglyDated,
        DatedBefore,
        ChangesOfWrongClock,
        ChangesBeforeOthers,
        InvitationOver,
        InvitationServesOne,
        InvitationOrClock,
        InsideBoundary,
        OutsideBoundary,
        // When and where.
        WhenExpected,
        WhenAtTheField,
        WhenSkipped,
        WhenOnTheClock,
        WhenAhead,
        WhenTooEarly,
        WhenTwice,
        RowsTwice,
        CheckTheYear,
        ZoneUnknown,
        ZoneForm,
        PlaceExpected,
        PlaceForm,
        NoFieldDrawn,
        NameOrDraw,
        NoFieldNear,
        NameTurnedRound,
        PlaceInSeveral,
        PlaceNearSeveral,
        NameMeant,
        WhichObserved,
        WhichVisited,
        NameObserved,
        NameVisited,
        FieldsOfOneName,
        MergeOrRename,
        NobodyObserved,
        NameWhoObserved,
        ObservedAtStation,
        ImportWeather,
        DayAfterObservation,
        CorrectOrSayWhen,
        DayOfOtherSeason,
        CorrectOrRecordThen,
        MendThese,
        MendTheseLines,
        // Correcting and visits.
        NoSuchObservation,
        ListShowsThem,
        VoidWins,
        RecordAnew,
        VoidNeedsReason,
        SayWhy,
        VoidAlready,
        HistoryShowsIt,
        ReasonOfMove,
        MoveOrReword,
        KindOfOthers,
        CorrectWhereKnown,
        MeasureExpected,
        QuoteBlanks,
        FlagWithoutValue,
        WriteFlagValue,
        NoSuchVisit,
        SeveralVisits,
        NoVisitOfAField,
        VisitListShows,
        VisitThereAlready,
        NameAnotherField,
        VisitAllVoid,
        VisitMovedAlready,
        MoveOnFromThere,
        NothingToMove,
        VisitWaits,
        ResolveThenMove,
        VisitMovedTold,
        VoidLeftThere,
        CopyDiffers,
        NothingThere,
        ResolveOnCopy,
        VisitsApart,
        AnswerUnread,
        AnswersKept,
        SampleUnfinished,
        GoOnOrGiveUp,
        AgainExpected,
        BehindIsRecorded,
        AmendCorrects,
        NoSampleYet,
        AnswerOrSkipKind,
        FirstQuestion,
        AnswerSkipOrQuit,
        OfferedAgain,
        VisitElsewhere,
        GoOnThere,
        // Photos.
        PictureExpected,
        NoSuchFile,
        NoPicture,
        PicturesKept,
        HashExpected,
        NameTheFile,
        PhotoThere,
        PhotoKnown,
        PhotoAmend,
        PhotoAnew,
        PhotoOtherTime,
        PhotoCut,
        NoImageInIt,
        PictureAnew,
        NoSuchPhoto,
        SeveralPhotos,
        PhotoListShows,
        PhotoNotHere,
        PhotoDamaged,
        PhotosNotHere,
        PhotoMend,
        PhotoUntimed,
        GivePhotoTime,
        TakenAt,
        TakenIn,
        TakenAtIn,
        PhotoTold,
        PhotoToldUnused,
        PhotoToldAsk,
        PhotoWrote,
        // Far places.
        PlaceAway,
        PlaceTooFar,
        PlaceOfNoPart,
        LatitudeFirst,
        // Labels of messages.
        LabelHint,
        // Numbers that can be read in two ways.
        NumberTwoWays,
        WriteDecimalOrWhole,
        OneNumberOrTwo,
        WriteOneOrTwo,
        // Lines of a file and flags in a row.
        LineOf,
        QuoteOpen,
        KindAndFieldExpected,
        NoLines,
        OneALine,
        FileUnread,
        NameTextFile,
        NothingToRecord,
        NameKindAndField,
        FlagGivenTwice,
        EachOnceForFiles,
        FlagBehindAnd,
        DayLongAgo,
        NumberUnread,
        NoFilesBehindAnd,
        GivenUnlikeTimes,
        GiveOnceOrEach,
        // The journal, the crew, fields.
        JournalStarted,
        PersonAndCrew,
        CrewHolds,
        CrewReads,
        CrewReadsNow,
        NoMembers,
        FieldRecorded,
        FieldNameExpected,
        FieldNameForm,
        FieldNameTaken,
        GrowerNobody,
        NameGrower,
        GiveFieldQuantity,
        OutOfRange,
        // What the columns of a sheet tell.
        NoKindOfColumns,
        SayWhichKind,
        HeaderLower,
        TwoKindsFit,
        NoKindWhole,
        ColumnsLack,
        NameColumnsOf,
        NoSuchMeaning,
        MeaningsAre,
        NoSuchColumn,
        SeveralColumns,
        ColumnsAre,
        NothingOfColumns,
        ColumnTwice,
        OneNameTwice,
        RenameColumn,
        HiddenRows,
        DatesMdy,
        DatesDmy,
        DatesMixed,
        MendDates,
        KindUntold,
        BothTell,
        SayWhichIdle,
        FieldUntold,
        NameFieldColumn,
        DayUntold,
        NameDayColumn,
        NameBothOrNeither,
        LongNeedsBoth,
        NameBothLong,
        NoColumnMeasures,
        NameMeasureColumn,
        WordColumn,
        // What an exchange brought.
        Exchanged,
        PhotosExchanged,
        ForAPerson,
        NotTakenIn,
        ListeningOn,
        ListeningNearby,
        AndPhotos,
        BundleTaken,
        PersonJoined,
        SyncNext,
        CrewJoined,
        CameAlong,
        // A list of codes.
        CodesOfList,
        // Members of the crew.
        MemberHere,
        MemberOfCrew,
        MemberRemoved,
        // Nothing to resolve.
        NotInConflict,
        ConflictsShow,
        // A column without a unit.
        UnitTaken,
        // The help of what can be recorded.
        HelpMeasures,
        HelpTimeAndPlace,
        HelpExample,
        HelpSeveral,
        HelpField,
        HelpAt,
        HelpNear,
        HelpBy,
        HelpAcceptTime,
        HelpAnd,
        HelpCodes,
    }
);

named!(
    /// A thing that is counted.
    Noun {
        Plant,
        Seed,
        Count,
        MoreCount,
        Gap,
        Value,
        Day,
        Place,
        Part,
        Observation,
        RecordedObservation,
        VoidObservation,
        ObservationTwice,
        Row,
        RowHeld,
        NewObservation,
        FieldOfCrew,
        VoidStaying,
        PhotoIs,
        Change,
        Document,
        Byte,
        Photo,
        ConflictWaits,
        NewChange,
        NewPhoto,
        ObservationTells,
        ObservationDated,
    }
);

/// Returns the sentence in a language, English where there is no such language.
fn text(phrase: Phrase, language: &str) -> &'static str {
    match language {
        "es" => es::text(phrase),
        _ => en::text(phrase),
    }
}

/// Puts what is given in the place of its name.
fn filled(text: &str, with: &[(&str, &dyn Display)]) -> String {
    let mut out = String::with_capacity(text.len() + 16 * with.len());
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('{') {
        out.push_str(before);
        let (name, behind) = after.split_once('}').expect("a test holds braces to be closed");
        let given = with.iter().find(|(known, _)| *known == name);
        debug_assert!(given.is_some(), "nothing is given for `{name}` of `{text}`");
        if let Some((_, value)) = given {
            out.push_str(&value.to_string());
        }
        rest = behind;
    }
    debug_assert!(with.iter().all(|(name, _)| text.contains(&format!("{{{name}}}"))), "`{text}` does not take it all");
    out.push_str(rest);
    out
}

impl Reading {
    /// Says a sentence with what belongs in it, each by its name.
    pub fn say(&self, phrase: Phrase, with: &[(&str, &dyn Display)]) -> String {
        filled(text(phrase, &self.language), with)
    }

    /// Returns a sentence that nothing is put in.
    pub fn word(&self, phrase: Phrase) -> &'static str {
        text(phrase, &self.language)
    }

    /// Names the known words beside one that is not, the nearest first where one is near; of very many only near ones.
    /// `all` is the sentence that lists them as `{words}`.
    pub(crate) fn known(&self, all: Phrase, got: &str, words: impl IntoIterator<Item = impl Into<String>>) -> String {
        self.known_of(all, got, words, "")
    }

    /// The same as [`Self::known`]; `command` shows all of them where they are too many to be named.
    pub(crate) fn known_of(
        &self,
        all: Phrase,
        got: &str,
        words: impl IntoIterator<Item = impl Into<String>>,
        command: &str,
    ) -> String {
        let words: Vec<String> = words.into_iter().map(Into::into).collect();
        let (few, more) = listed(got, &words);
        let mut named = few.join(", ");
        if more > 0 {
            named = self.say(Phrase::AndMore, &[("words", &named), ("n", &more)]);
        }
        let mut all = self.say(all, &[("words", &named)]);
        if more > 0 && !command.is_empty() {
            all.push_str(&self.say(Phrase::ShowsAll, &[("command", &command)]));
        }
        let Some(word) = nearest(got, &words) else { return all };
        let mut letters = all.chars();
        let first = letters.next().map(|first| first.to_uppercase().collect::<String>()).unwrap_or_default();
        self.say(Phrase::DidYouMean, &[("word", word), ("all", &(first + letters.as_str()))])
    }

    /// Says why a text is no quantity, or not one of the kind that was asked for.
    pub(crate) fn quantity_refusal(&self, error: &ligule_units::Error) -> String {
        match self.language.as_str() {
            "es" => es::quantity_refusal(error, self.system),
            _ => error.to_string(),
        }
    }

    /// Returns a number with its noun: `1 plant`, `2 plants`.
    pub fn counted<N: Copy + TryInto<u64>>(&self, n: N, noun: Noun) -> String {
        // A number that does not fit is negative or beyond counting, and so not one.
        let n: u64 = n.try_into().unwrap_or(u64::MAX);
        format!("{n} {}", self.noun(noun, n == 1))
    }

    /// Returns a noun, one or several of it.
    pub fn noun(&self, noun: Noun, one: bool) -> &'static str {
        let (single, many) = match self.language.as_str() {
            "es" => es::noun(noun),
            _ => en::noun(noun),
        };
        if one { single } else { many }
    }

    /// Returns what a column of a listing is called, by its name for programs.
    pub fn heading<'a>(&self, column: &'a str) -> &'a str {
        match self.language.as_str() {
            "es" => es::heading(column).unwrap_or(column),
            _ => column,
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    fn names(text: &str) -> BTreeSet<String> {
        let parts = text.split('{').skip(1);
        parts.map(|part| part.split_once('}').expect("braces are closed").0.to_owned()).collect()
    }

    /// The compiler sees to it that no language lacks a sentence; this, that none loses what is put in.
    #[test]
    fn every_language_says_everything_and_puts_in_the_same() {
        for phrase in Phrase::ALL {
            let (en, es) = (en::text(*phrase), es::text(*phrase));
            assert!(!en.trim().is_empty() && !es.trim().is_empty(), "{phrase:?}");
            assert_eq!(names(en), names(es), "{phrase:?}");
        }
        // What is spelled alike in both is so on purpose.
        let alike: Vec<_> = Phrase::ALL.iter().filter(|phrase| en::text(**phrase) == es::text(**phrase)).collect();
        assert_eq!(alike, [&Phrase::WordNo], "said in English in the Spanish file");
    }

    #[test]
    fn nouns_have_one_and_many_in_every_language() {
        let spanish = Reading { language: "es".into(), ..Reading::default() };
        for noun in Noun::ALL {
            for reading in [&Reading::default(), &spanish] {
                assert_ne!(reading.noun(*noun, true), reading.noun(*noun, false), "{noun:?}");
            }
        }
        assert_eq!(spanish.counted(1, Noun::Plant), "1 planta");
        assert_eq!(Reading::default().counted(2, Noun::Day), "2 days");
        assert_eq!(Reading::default().counted(-1, Noun::Day).split_once(' ').map(|(_, noun)| noun), Some("days"));
    }

    #[test]
    fn the_examples_of_quantities_are_quantities() {
        for unit in ligule_units::Unit::all() {
            let example = es::example(unit.dimension, ligule_units::System::Metric);
            assert!(ligule_units::parse(example, unit).is_ok(), "{example}");
        }
    }

    #[test]
    fn what_is_put_in_is_not_read_again() {
        assert_eq!(filled("{a} and {b}", &[("a", &"{b}"), ("b", &2)]), "{b} and 2");
    }
}
