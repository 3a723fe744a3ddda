//! The tables of replanting as people look at them.

use super::answer::Question;
use super::matrix::YieldMatrix;
use super::printed::Grid;
use super::season::{day_name, day_of_season};
use super::soybean_evidence::{A_DAY, BY_DATE, BY_DATE_SOURCE, EVIDENCE, RULES};
use super::unevenness::GAPS;
use crate::catalogue::{Cell, Origin, Table, with_marks};

pub(crate) fn tables() -> Vec<Table> {
    let mut all: Vec<_> = YieldMatrix::ALL.iter().map(|matrix| grid(*matrix)).collect();
    all.extend([gaps(), statements(), insurance(), questions()]);
    all.extend([soybean_stands(), soybean_rules(), soybean_dates(), soybean_delay()]);
    all
}

fn stands(grid: &Grid) -> impl Iterator<Item = String> + '_ {
    grid.stands.iter().map(|(least, most)| {
        let marks = |thousands: f64| with_marks(thousands * 1000.0, 0);
        if least == most { marks(*least) } else { format!("{} to {}", marks(*least), marks(*most)) }
    })
}

fn grid(matrix: YieldMatrix) -> Table {
    let grid = matrix.grid();
    let (name, title) = match matrix {
        YieldMatrix::Illinois => {
            ("replant-illinois", "Corn yield, % of the optimum, by planting date and stand: Illinois and Indiana")
        }
        YieldMatrix::Iowa2001 => {
            ("replant-iowa-2001", "Corn yield, % of the greatest, by planting date and stand: Iowa, 2001")
        }
        YieldMatrix::Iowa2010 => {
            ("replant-iowa-2010", "Corn yield, % of the greatest, by planting date and stand: Iowa, 2010")
        }
        YieldMatrix::WisconsinFull => (
            "replant-wisconsin-full",
            "Corn yield, % of expected, by planting date and stand: southern Wisconsin, full-season hybrid",
        ),
        YieldMatrix::WisconsinShort => (
            "replant-wisconsin-short",
            "Corn yield, % of expected full-season yield, by planting date and stand: southern Wisconsin, \
             short-season hybrid",
        ),
    };
    let columns = std::iter::once("planted".to_owned()).chain(stands(grid).map(|stand| format!("{stand} plants/ac")));
    let mut table = Table::new(name, title, matrix.holds(), columns);
    for row in grid.rows {
        let planted = if day_of_season(row.first) == day_of_season(row.last) {
            day_name(row.first)
        } else {
            format!("{} to {}", day_name(row.first), day_name(row.last))
        };
        let numbers = row.percent.iter().map(|percent| Cell::from(Some(*percent).filter(|percent| !percent.is_nan())));
        let cells = std::iter::once(Cell::from(planted)).chain(numbers).collect::<Vec<_>>();
        table = table.row(cells, row.origin, matrix.source());
    }
    table
}

fn gaps() -> Table {
    let table = Table::new(
        "gap-loss",
        "Corn yield lost to gaps, beside what the thinner stand costs",
        "Comes off the yield of a uniform stand; the extension pages differ on the length of a small gap (1 to 3 \
         ft, 1½ to 3 ft).",
        ["gaps", "length", "least, %", "most, %"],
    );
    GAPS.iter().fold(table, |table, (pattern, length, least, most, origin, source)| {
        table.row([pattern.word().into(), (*length).into(), (*least).into(), (*most).into()], *origin, source)
    })
}

/// Single statements of yield by date and stand that stand beside the grids.
const STATEMENTS: [(&str, &str, &str, Origin, &str); 11] = [
    ("30 April", "17,500", "87", Origin::Page, PENN_STATE),
    ("30 April", "30,000", "100", Origin::Page, PENN_STATE),
    ("29 May", "30,000", "81", Origin::Page, PENN_STATE),
    ("early", "28,000", "95", Origin::Page, MINNESOTA),
    ("early", "16,000", "76", Origin::Page, MINNESOTA),
    ("by 15 May", "full", "95 to 98", Origin::Page, COULTER),
    ("by 20 May", "full", "92 to 95", Origin::Page, COULTER),
    ("11 May", "full", "89", Origin::Page, MISSOURI),
    ("21 May", "full", "83", Origin::Page, MISSOURI),
    ("31 May", "full", "77", Origin::Page, MISSOURI),
    ("early", "26,000", "90", Origin::Page, MISSOURI),
];

const PENN_STATE: &str = "A. Frankenfield (2018), Assessing populations and replanting decisions, Penn State \
                          Extension, from Penn State Agronomy Guide table 1.4-8A";
const MINNESOTA: &str = "J. Coulter, S. Naeve (2011), Extension educators advise on assessing hail-damaged corn, \
                         beans, University of Minnesota";
const COULTER: &str = "J. Coulter (2014), Weather delays corn planting, University of Minnesota Extension";
const MISSOURI: &str = "University of Missouri Extension evaluates corn replanting, northern Missouri";

fn statements() -> Table {
    let table = Table::new(
        "corn-stand-statements",
        "Single published yields of corn by planting date and stand, % of the greatest",
        "Points, not a grid: nothing is read between them. To set beside the grids, which differ.",
        ["planted", "plants/ac", "yield, %"],
    );
    STATEMENTS.iter().fold(table, |table, (planted, stand, percent, origin, source)| {
        table.row([(*planted).into(), (*stand).into(), (*percent).into()], *origin, source)
    })
}

fn insurance() -> Table {
    let farm_bureau = "Iowa Farm Bureau (2024), Crop insurance planting dates, Iowa";
    let column =
        "June 1 is an important crop insurance date (2017), farm press column on federal crop insurance in Iowa";
    Table::new(
        "replant-insurance",
        "What federal crop insurance in Iowa has said of replanting",
        "To know what to ask, not to rely on: policies and years differ, and the insurer decides. Ask for consent \
         before a stand is destroyed.",
        ["what", "corn", "soybean"],
    )
    .row(
        ["earliest planting with a replant payment".into(), "10 April".into(), "10 or 15 April".into()],
        Origin::Page,
        farm_bureau,
    )
    .row(["final planting date, full cover".into(), "31 May".into(), "15 June".into()], Origin::Page, farm_bureau)
    .row(["replanting practical until".into(), "10 June".into(), "25 June".into()], Origin::Page, farm_bureau)
    .row(
        ["replant payment, at most".into(), "8 bu/ac × projected price".into(), "3 bu/ac × projected price".into()],
        Origin::Page,
        column,
    )
    .row(
        ["least area for a payment".into(), "20 ac or 20 % of the unit".into(), "20 ac or 20 % of the unit".into()],
        Origin::Page,
        column,
    )
}

fn questions() -> Table {
    let asks = |question| match question {
        Question::PlantBack => "Do the labels of the herbicides already applied let the crop be planted on that day?",
        Question::Nitrogen => "How much nitrogen is in the ground already, in what form?",
        Question::Insurer => "Does the insurer consent before the stand is destroyed?",
        Question::Seed => "Is seed of a fitting hybrid to be had?",
        Question::Frost => "Will the crop ripen before frost?",
    };
    let table = Table::new(
        "replant-questions",
        "What must be asked before a stand is destroyed, beside the money",
        "Always all five. The label is the law; the policy and local codes decide.",
        ["question", "asks"],
    );
    Question::ALL.iter().fold(table, |table, question| {
        table.row(
            [question.word().into(), asks(*question).into()],
            Origin::Practice,
            "common practice of advisers; seed and herbicides in J. Lauer (2002), Corn replant / late-plant \
             decisions in Wisconsin",
        )
    })
}

fn soybean_stands() -> Table {
    let table = Table::new(
        "soybean-stand",
        "Soybean yield by stand, % of the greatest",
        "Single statements of several studies, no curve: they contradict each other (90 % at 80,000, 95 % at 70,000 \
         to 75,000).",
        ["plants/ac, from", "to", "yield, %, from", "to", "note"],
    );
    EVIDENCE.iter().fold(table, |table, one| {
        let note = if one.note.is_empty() { Cell::Blank } else { one.note.into() };
        let cells = [one.stand.0.into(), one.stand.1.into(), one.percent.0.into(), one.percent.1.into(), note];
        table.row(cells, one.origin, one.source)
    })
}

fn soybean_rules() -> Table {
    let table = Table::new(
        "soybean-replant",
        "What publications say should be done with a soybean stand",
        "Contested: filling in gained yield in Wisconsin and was discouraged in Iowa (1999).",
        ["plants/ac, at least", "below", "says"],
    );
    RULES.iter().fold(table, |table, rule| {
        let below = Some(rule.stand.1).filter(|below| below.is_finite());
        table.row([rule.stand.0.into(), below.into(), rule.says.into()], rule.origin, rule.source)
    })
}

fn soybean_dates() -> Table {
    let table = Table::new(
        "soybean-planting-date",
        "Soybean yield by planting date, % of the greatest: Pennsylvania",
        "Between two days a straight line; nothing outside.",
        ["planted", "yield, %"],
    );
    BY_DATE.iter().fold(table, |table, (day, percent)| {
        table.row([day_name(*day).into(), (*percent).into()], Origin::Page, BY_DATE_SOURCE)
    })
}

fn soybean_delay() -> Table {
    let table = Table::new(
        "soybean-delay",
        "What a day of delay costs soybean",
        "Bushels where yields are those of the study.",
        ["when", "loss, bu/ac a day"],
    );
    A_DAY.iter().fold(table, |table, (when, bushels, origin, source)| {
        table.row([(*when).into(), (*bushels).into()], *origin, source)
    })
}
