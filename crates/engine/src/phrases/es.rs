//! Spanish, as it is spoken in the fields of North America.

use ligule_units::{Dimension, Error, System, Unit};

use super::{Noun, Phrase};

pub(super) fn text(phrase: Phrase) -> &'static str {
    match phrase {
        // Recording and correcting.
        Phrase::Recorded => "anotada {key}: {what}",
        Phrase::RecordedMany => "anotado: {n} en {fields}",
        Phrase::OnField => "{kind} en {field}, {at}, {values}",
        Phrase::AtPlace => "en {place}",
        Phrase::PlaceWord => "lugar",
        Phrase::ByPerson => "por {person}",
        Phrase::StaysAs => "{name} ya es {value}, y ahora se dice otra vez",
        Phrase::OtherCrop => "{field} es un lote de {crop}, que no tiene la etapa {stage}",
        Phrase::OtherThanUsual => "el cultivo usual de {field} es {usual}, no {crop}",
        Phrase::StateImpossible => "no puede ser: {why}",
        Phrase::SaidRecorded => "anotado: {what}",
        Phrase::NewPerson => "{person} es nuevo aquí: nadie de ese nombre es del equipo ni ha anotado antes",
        Phrase::NewPersonNear => {
            "{person} es nuevo aquí: nadie de ese nombre es del equipo ni ha anotado antes; si es {near}, diga \
             `--by \"{near}\"` o corrija la planilla, y anule lo anotado a nombre de {person}"
        }
        Phrase::SaidBefore => {
            "{new} dice lo que {known} ya decía, de la misma hora y persona; si se anotó dos veces, \
             `ligule void {new} --why \"anotado dos veces\"`"
        }
        Phrase::SaidBeforeMany => {
            "{n} dicen lo que ya estaba, de la misma hora y persona, la primera de ellas {new} lo que {known}; si se \
             anotó dos veces, quítelas con `ligule void {new} --why \"anotado dos veces\"` y así las demás"
        }
        Phrase::NowIs => "{name} es ahora {value}",
        Phrase::ResolvedIs => "{key}: {name} es {value}",
        Phrase::IsVoid => "{key} queda anulada ({why})",
        // What an observation amounts to.
        Phrase::PlantsIn => "{plants} en {sample} ≈ {density}",
        Phrase::MeanSoFar => "media de {n} hasta ahora {mean} ± {half} (intervalo de 95 %)",
        Phrase::DepthSoFar => "{seeds} hasta ahora, profundidad media {mean}, de {low} a {high}",
        Phrase::DepthOff => "{quarter} % a más de {small} de {target}, {half} % a más de {large}",
        Phrase::FieldAt => "lote en {stage}",
        Phrase::FieldAtBy => "lote en {stage} según {plants}, de {least} a {most}",
        Phrase::ShareFound => "{found} de {examined} {what}, {percent} %",
        Phrase::ShareInterval => "(intervalo de 95 %: {low} a {high} %)",
        Phrase::PestSoFar => "{name} hasta ahora: {shares}",
        Phrase::CrownAdded => "a cada semilla a corona se le suman {added}: la corona se forma a esa profundidad",
        Phrase::SurfaceCounts => "de cada planta cuenta la semilla a superficie; la semilla a corona no suma otra",
        Phrase::PlantsCountBefore => {
            "{stage}, dada para todo el lote, no cuenta junto a plantas contadas una por una, que dan {field}"
        }
        Phrase::FoundOnPlants => "{what}: {found}, media {mean} por planta",
        Phrase::FoundInNights => "{what}: {found}, media {mean} por noche",
        Phrase::FoundInTraps => "{what}: {found}, media {mean} por trampa",
        Phrase::EstimateOfEars => {
            "{ears} mazorcas en 1/1000 de acre × {an_ear} granos por mazorca ÷ {kernels} granos por bushel ≈ {yield}"
        }
        Phrase::EstimateOfPods => {
            "{plants} plantas en 1/1000 de acre × {pods} vainas × {seeds} semillas ÷ {kernels} semillas por bushel ≈ {yield}"
        }
        Phrase::EstimateByKernels => {
            "no se dieron granos por bushel: {low} con muchos y chicos, {high} con pocos y grandes"
        }
        Phrase::Affected => "{found} de {examined} afectadas, {percent} %",
        Phrase::MeanOf => "{what}, media {mean}",
        Phrase::StandardDeviation => "desviación estándar {sd}",
        Phrase::DoublesAndSkips => "{doubles} % dobles, {skips} % fallas",
        Phrase::StudiesFindLoss => {
            "los estudios hallan una pérdida de {low} a {high} con {yield} (no concuerdan: `ligule table \
             spacing-loss`)"
        }
        Phrase::AnotherCountTells => "con otro conteo se sabrá cuántos hacen falta",
        Phrase::ShareReached => "± {share} % está alcanzado",
        Phrase::MoreToShare => "{counts} para ± {share} %",
        // A visit in one sitting.
        Phrase::VisitGoesOn => "sigue la visita de {field} del {begun}, {n} anotadas; `--new` empieza otra",
        Phrase::SampleOfAnotherDay => {
            "la observación incompleta se empezó el {day}; una respuesta de hoy la fecha hoy, sin ninguna conserva ese \
             día; `ligule visit {field} --new` empieza otra"
        }
        Phrase::VisitBegins => "visita de {field}: {kinds}; `ayuda` explica, `salir` interrumpe y guarda todo",
        Phrase::AgainOrNext => "`otra` para otra muestra ({kind}), o Entrar para {next}",
        Phrase::AgainOrFinish => "`otra` para otra muestra ({kind}), o Entrar para terminar",
        Phrase::NotAskedNow => "no se pide en esta etapa: {kinds}",
        Phrase::VisitKept => "{recorded} en {field}; `ligule visit {field}` sigue donde quedó",
        Phrase::VisitOver => "{recorded} en {field}",
        Phrase::VisitTakenOver => "la visita no se dejó con `salir`: si sigue abierta en otra ventana, allí se detiene",
        Phrase::AnswerNeeded => "falta {measure}",
        Phrase::AnswerOrSkip => "responda, o `saltar` deja el tema",
        Phrase::AgainGivesUp => "aún sin anotar: {answers}; `{word}` otra vez lo abandona",
        Phrase::GivenUp => "abandonado, sin anotar: {kind}: {answers}",
        Phrase::PhotoFile => "Foto (su archivo)",
        Phrase::RangeOf => "{low} a {high}",
        Phrase::SittingWords => {
            "Entrar toma lo que está entre corchetes o deja la pregunta sin respuesta; `-` la deja sin \
             respuesta; `listo` anota lo respondido; `saltar` pasa al siguiente tema; `atrás` vuelve; `otra` \
             anota otra muestra; el nombre de un tema lleva a él; `terminar` cierra la visita; `salir` la \
             interrumpe y guarda todo; un número sin unidad va en la unidad que dice la pregunta; `=texto` es \
             texto y no una de estas palabras."
        }
        Phrase::VisitOf => "visita {visit} de {field}, {at}, por {by}",
        Phrase::VisitWord => "visita",
        Phrase::VisitMoved => "movida {moved}",
        Phrase::VisitThere => "{field}, visita {visit}",
        Phrase::AndTo => " y a ",
        Phrase::MovedTo => "a {to}",
        Phrase::MovedFrom => "de {from}",
        Phrase::MovedAlso => "; movida también a {to}",
        Phrase::CopiedFrom => "copiada de {from}",
        Phrase::MovedAs => "movida a {field} como {key}",
        Phrase::MovedToWord => "movida a",
        Phrase::CopiedFromWord => "copia de",
        Phrase::VoidWord => "anulada",
        // Whether people may enter.
        Phrase::KeepOut => {
            "NO ENTRAR hasta {until} ({zone}): {name}, la aplicación terminó {ended}, intervalo registrado \
             {hours} h"
        }
        Phrase::KeepOutFromDay => {
            "NO ENTRAR hasta {until} ({zone}): {name}, aplicado el {ended} a una hora que no se conoce, contado desde \
             el final de ese día, intervalo registrado {hours} h"
        }
        Phrase::SprayedAnotherDay => {
            "dice que se aplicó el {day} y lleva la fecha {at}: cuenta el {day}, hasta su final; si la aplicación \
             terminó después de medianoche, corrija el día"
        }
        Phrase::ReentryUnknown => {
            "REENTRADA DESCONOCIDA, pregunte antes de entrar: {name}, aplicación registrada {ended}, {why}"
        }
        Phrase::ReentryDisputed => "dos personas anotaron intervalos distintos",
        Phrase::ReentryNotRecorded => "no se registró el intervalo",
        Phrase::KeepOutBrief => "no entrar hasta {until}",
        Phrase::AskBrief => "desconocida: pregunte antes de entrar",
        Phrase::LabelIsLaw => {
            "La etiqueta es la ley: aquí solo se muestra lo que el equipo registró, y el intervalo cambia de un \
             producto a otro."
        }
        Phrase::AskTheApplicator => {
            "En caso de duda pregunte al aplicador; las normas locales, los avisos y un intervalo más largo en \
             la etiqueta van primero."
        }
        // An assessment: the words at the head of its lines.
        Phrase::HeadReentry => "reentrada",
        Phrase::HeadRemark => "nota:",
        Phrase::HeadPlanted => "siembra",
        Phrase::HeadStand => "población",
        Phrase::HeadSpacing => "espaciado",
        Phrase::HeadStage => "etapa",
        Phrase::HeadHeight => "altura",
        Phrase::HeadDepth => "profundidad",
        Phrase::HeadDegreeDays => "grados-día",
        Phrase::HeadHail => "granizo",
        Phrase::HeadFrost => "helada",
        Phrase::HeadPest => "plaga",
        Phrase::HeadDisease => "enfermedad",
        Phrase::HeadWeed => "maleza",
        Phrase::HeadSoil => "suelo",
        Phrase::HeadRoots => "raíces",
        Phrase::HeadEstimate => "estimación",
        Phrase::HeadHarvest => "cosecha",
        Phrase::HeadNote => "nota",
        Phrase::HeadSetAside => "apartado",
        Phrase::HeadVoid => "anuladas",
        Phrase::HeadNotAssessed => "sin evaluar",
        // An assessment: its lines.
        Phrase::AssessmentOf => "{field}, {crop} {season}, al {day}",
        Phrase::CropNotRecorded => "cultivo sin registrar",
        Phrase::Ago => "hace {days}",
        Phrase::RowsOf => "surcos a {width}",
        Phrase::SetDeep => "ajustada a {depth} de profundidad",
        Phrase::Interval => "intervalo de 95 %: {low} a {high}",
        Phrase::Variation => "variación {percent} %",
        Phrase::ShareOfSeeds => "{percent} % de las semillas sembradas",
        Phrase::MoreCounts => "conteos que faltan para ±10 %: {ten}; para ±5 %: {five}",
        Phrase::PlantsFromTo => "plantas de {least} a {most}",
        Phrase::BehindTwo => "{percent} % con dos o más hojas de atraso",
        Phrase::BeyondBounds => "{quarter} % a más de {small} y {half} % a más de {large} de lo ajustado, {target}",
        Phrase::FromTo => "del {from} al {to}",
        Phrase::MissingDays => "faltan {days}, sin rellenar",
        Phrase::WeatherOf => "tiempo de la estación {station}",
        Phrase::LetsExpect => "hace esperar {stage} ({low} a {high}), {rate}",
        Phrase::FoundOf => "{found} de {examined}",
        Phrase::PlantsPer => "{n} plantas{unit}",
        Phrase::Tall => "hasta {height} de alto",
        Phrase::OnlyCutCounted => "solo se contaron plantas cortadas; no se sabe cuántas estaban dañadas en total",
        Phrase::CutNotCounted => "no se contaron plantas cortadas",
        Phrase::SetAsideOf => "{measure} de {observation}: {why}",
        Phrase::VoidInNone => "{observations} sin validez, en ningún número de aquí",
        Phrase::OfIntended => "previsto {intended}",
        Phrase::LossAt => "los estudios hallan una pérdida de {low} a {high}",
        Phrase::PlantsLost => "{found} de {examined} perdidas, {percent} %",
        Phrase::LeafLost => "{percent} % del área de hoja perdida",
        Phrase::LeafLostPlaces => "de {low} a {high} % en {places}",
        Phrase::EventOf => "del {event}",
        Phrase::AtStage => "en {stage}",
        Phrase::YieldLoss => "cuesta {loss} del rendimiento",
        Phrase::OfLeafLoss => "hoja perdida {loss}",
        Phrase::OfPlantLoss => "plantas perdidas {loss}",
        Phrase::GrowingPoint => "punto de crecimiento {what}",
        Phrase::Severity => "severidad {percent} %",
        Phrase::HighestLeaf => "hoja más alta: {leaf}",
        Phrase::EstimateFactors => "de {low} a {high} según los factores de grano publicados",
        Phrase::AtStandard => "{yield} a la humedad estándar",
        Phrase::AsTold => "{yield} según lo anotado",
        Phrase::Moisture => "humedad {percent} %",
        Phrase::TestWeight => "peso hectolítrico {weight}",
        Phrase::StandKept => "{percent} % de la población contada antes",
        Phrase::Barren => "{percent} % sin mazorca",
        Phrase::Lodged => "{percent} % acamadas",
        // Cautions, what was set aside, what is lacking.
        Phrase::NoPlanting => "No hay siembra anotada; por eso no hay grados-día ni parte de las semillas sembradas.",
        Phrase::NoSeedingRate => "La siembra no tiene densidad; por eso la población no se compara con ella.",
        Phrase::NoStandCount => "No hay conteo de plantas que sirva.",
        Phrase::NoStage => "No hay etapa anotada.",
        Phrase::OneCount => "Un solo conteo no dice cuánto varía el lote: no hay intervalo.",
        Phrase::FewCounts => "{n} conteos son pocos para confiar en el intervalo; haga al menos 4.",
        Phrase::Patchy => {
            "Los conteos varían más de {percent} %: la población es por manchones (límite de memoria, por \
             verificar). Cuente por separado las partes buenas y las malas en vez de tomar una media."
        }
        Phrase::EarlierCounts => "Los conteos de más de {days} días antes del último no están en la media: {n}.",
        Phrase::MorePlantsThanSeeds => {
            "Más plantas que semillas por un décimo o más (práctica común, sin fuente): revise {observations}; \
             hasta entonces la media no vale como población."
        }
        Phrase::NoArea => "El conteo no tiene largo de surco, ni aro, ni milésimas de acre; no se sabe su área.",
        Phrase::NoRowWidth => "Ni el conteo ni una siembra dicen el ancho de surco; no se sabe su área.",
        Phrase::CountUnusable => "El conteo no se puede usar: {error}.",
        Phrase::SampleRows => "{length} a {width}",
        Phrase::SampleOfRows => "{length} de {rows} surcos a {width}",
        Phrase::SampleHoop => "aro de {diameter}",
        Phrase::SamplePlanting => "{sample}, ancho de surco de la siembra",
        Phrase::PlantingLater => "Esta siembra se anotó después, el {day}.",
        Phrase::PlantingsDiffer => {
            "Hay {n} siembras distintas anotadas: {plantings}. Cuenta la última. Si el lote no se sembró otra \
             vez, corrija la buena y anule las demás."
        }
        Phrase::PlantingOn => "{crop} el {day}",
        Phrase::CropNotSettled => "un cultivo sin decidir",
        Phrase::CollarsExpected => "Se esperaban collares enteros de 0 a 30, no {n}; la planta no se cuenta.",
        Phrase::FewPlantsForStage => "{plants}: pocas para la etapa de un lote; mire de 10 a 20.",
        Phrase::SplitStalk => "El número de hoja se halló partiendo un tallo; puede errar por una.",
        Phrase::StageExpected => "Se esperaba una etapa del cultivo, no `{text}`; no se cuenta.",
        Phrase::StageAsOne => "La etapa se dio para todo el lote; no se contaron plantas una por una.",
        Phrase::ValueUnusable => "No se puede usar: {error}.",
        Phrase::ShallowSeeds => {
            "{n} de {seeds} a menos de {limit}: las raíces pueden formarse en suelo seco y las plantas caerse."
        }
        Phrase::CrownOverstates => {
            "De semilla a corona exagera la profundidad de esas semillas; mida de semilla a superficie."
        }
        Phrase::DegreeDaysCornOnly => {
            "Los grados-día 86/50 °F y sus tasas de hojas son para maíz; para otro cultivo no se dan."
        }
        Phrase::NoStation => "Este lote no tiene estación de tiempo; por eso no hay grados-día.",
        Phrase::StationLacksDays => "La estación {station} no tiene temperaturas del {from} al día antes del {to}.",
        Phrase::TooManyMissing => {
            "{missing} de {days} sin temperaturas, más de 5 %: la suma es baja y no se espera etapa de ella."
        }
        Phrase::EmergenceDiffers => {
            "La etapa esperada supone {usual} grados-día ({unit}) hasta la emergencia; los lotes van de {low} a \
             {high}."
        }
        Phrase::MorningStation => {
            "La estación lee su máxima por la mañana; los días cálidos pueden quedar un día tarde."
        }
        Phrase::RatePurdue => "tasa de Purdue University",
        Phrase::RateIowa => "tasa de Iowa State University",
        Phrase::NotEmerged => "sin emerger",
        Phrase::TasselOrLater => "VT o después",
        Phrase::MothsNoShare => "Las palomillas de una trampa no son parte de las plantas.",
        Phrase::NotTogether => "{why}; no se usan hasta que se corrija uno de los dos.",
        Phrase::NothingCounted => "No se contaron plantas dañadas ni cortadas; no hay parte de las revisadas.",
        Phrase::NumbersExpected => "Se esperaban números separados por espacios, no `{word}`; no se cuenta.",
        Phrase::InConflict => "Dos personas anotaron valores distintos; el valor no se usa hasta que se elija uno.",
        Phrase::StudiesDisagree => {
            "Los estudios del costo de un espaciado disparejo no concuerdan y no se promedian; para los que dan \
             por ciento se supone {yield} (práctica común, sin fuente)."
        }
        Phrase::FewGaps => {
            "{gaps}: pocos para juzgar una sembradora; lo usual son 50 o más (práctica común, sin fuente)."
        }
        Phrase::NoIntended => {
            "No se sabe el espaciamiento previsto, ni por las lecturas ni por una siembra con densidad y ancho \
             de surco: no se dan dobles ni fallas."
        }
        Phrase::TooSoon => {
            "Se miró {days} después; las publicaciones dicen esperar de {least} a {most} días antes de juzgar \
             qué plantas viven."
        }
        Phrase::NoLossForSoybean => {
            "Los ensayos de granizo en soya cuentan nudos perdidos, que no se anotan: no se da pérdida de \
             rendimiento."
        }
        Phrase::NoLossForFrost => {
            "No hay tabla que convierta una helada en pérdida de rendimiento; plantas y hoja se dan como se \
             contaron."
        }
        Phrase::NoDamageStage => "No se anotó la etapa cuando cayó; no se da pérdida de rendimiento.",
        Phrase::LossOutside => "La pérdida de rendimiento no se puede dar: {error}.",
        Phrase::NoStandBefore => {
            "Hasta 10 hojas, lo que cuestan las plantas perdidas depende de la población y la fecha de siembra; \
             falta una de ellas."
        }
        Phrase::NotASettlement => {
            "Es una estimación agronómica, no un ajuste de seguro; que el ajustador vea el lote antes de \
             hacerle algo."
        }
        Phrase::EstimateOff => "Una estimación así suele fallar por {bushels} (de memoria, por verificar).",
        Phrase::UsualFactor => "Donde no se anotaron granos por bushel se toman {factor} (práctica común, sin fuente).",
        Phrase::SeedsInBushelLacking => {
            "No se anotaron semillas por bushel; plantas, vainas y semillas no dan rendimiento."
        }
        Phrase::EstimateToldOnly => "La media incluye estimaciones de alguien sin sus partes: {n}.",
        Phrase::BasisUnknown => "No se anotó si el rendimiento es seco o como salió; se toma como está.",
        Phrase::WetWithoutMoisture => "El rendimiento está como salió y sin humedad; no se puede pasar al estándar.",
        Phrase::PartsWithoutArea => "No todas las partes tienen superficie; la media no se pondera.",
        // Kinds.
        Phrase::KindHow => "Cómo: {protocol}",
        Phrase::KindAskedFor => "Se pide de {from} a {to}.",
        Phrase::KindOnlyWhere => "Solo si {chosen} es {codes}: {measures}.",
        Phrase::TypeQuantity => "cantidad",
        Phrase::TypeCount => "conteo",
        Phrase::TypeChoice => "código",
        Phrase::TypeStage => "etapa",
        Phrase::TypeDay => "día",
        Phrase::TypeList => "lista",
        Phrase::TypeText => "texto",
        // Listings without rows.
        Phrase::NoKinds => "sin temas",
        Phrase::NoMeasures => "sin medidas",
        Phrase::NothingChosen => "nada se elige de una lista",
        Phrase::NoObservations => "sin observaciones",
        Phrase::NoHistory => "sin historia",
        Phrase::NoConflicts => "sin conflictos",
        Phrase::NoVisits => "sin visitas",
        Phrase::NoPhotos => "aún no hay fotos; anote una con `ligule record photo LOTE ARCHIVO`",
        Phrase::NoFields => "todavía no hay lotes; agregue uno con `ligule field add`",
        // The state of an observation.
        Phrase::StateVoid => "anulada: {why} ({by})",
        Phrase::StateConflict => "conflicto: {measures}",
        // Why values are refused.
        Phrase::RefusedMissing => "`{kind}` necesita `--{flag}` ({label}), que falta",
        Phrase::RefusedAlternatives => "`{kind}` necesita {alternatives}",
        Phrase::RefusedEmpty => "`{kind}` necesita al menos un valor; tiene {measures}",
        Phrase::RefusedRange => "`--{flag}` de `{kind}` debe estar entre {low} y {high}; se recibió {got}",
        Phrase::RefusedNegative => {
            "`--{flag}` de `{kind}` cuenta cosas y no puede ser menos que cero; se recibió {got}"
        }
        Phrase::RefusedExceeds => "`--{flag}` de `{kind}` no puede pasar de `--{most}`; se recibió {got} con {limit}",
        Phrase::RefusedExcluded => {
            "`{kind}` lleva `--{flag}` o `--{other}`, no los dos; anote cada uno en su propia observación"
        }
        Phrase::RefusedMisplaced => {
            "`--{flag}` de `{kind}` va con `--{chosen}` {codes}; se recibió `--{chosen} {got}`; anote cada uno en su \
             propia observación"
        }
        Phrase::MisplacedOther => {
            "`--{flag}` de `{kind}` va con `--{chosen}` {codes}; se recibió `--{chosen} {got}`, con que es `--{other}`"
        }
        Phrase::RefusedUnplaced => "`--{flag}` de `{kind}` va con `--{chosen}` {codes}, que falta; dé `--{chosen}`",
        Phrase::RefusedUnpaired => {
            "`--{flag}` y `--{other}` de `{kind}` van juntos número por número; se recibieron {got} y {others}"
        }
        Phrase::RefusedDescends => {
            "`--{flag}` de `{kind}` no puede bajar; se recibió {after} después de {before}, en el lugar {place}"
        }
        Phrase::RefusedForm => "`--{flag}` de `{kind}`: se esperaba {expected}, se recibió `{got}`",
        Phrase::FormNumber => "un número",
        Phrase::FormList => "números separados por espacios",
        Phrase::FormStage => "una etapa como `VE`, `V4`, `VT` o `R1`",
        Phrase::FormDay => "un día como AAAA-MM-DD",
        Phrase::FormTime => "una hora como `2026-06-12T09:40:00-05:00`",
        Phrase::FormText => "un texto de 16 KiB a lo más que no esté vacío",
        Phrase::ValueRefused => "`--{flag}` de `{kind}`: {why}",
        Phrase::GivenTwice => "`--{flag}` se dio dos veces",
        Phrase::GiveOnce => "dé cada medida una sola vez",
        Phrase::NoSuchMeasure => "`{kind}` no tiene la medida `{name}`",
        Phrase::NoSuchCode => "`--{flag}` de `{kind}`: `{text}` no es uno de sus códigos",
        Phrase::NoSuchKind => "no hay tema `{name}`",
        Phrase::NoSuchField => "no hay lote `{name}`",
        Phrase::DayAhead => "`--{flag}`: {day} es después de {today}, hoy según el reloj de este dispositivo",
        Phrase::CorrectTheTime => {
            "corrija la hora; si el reloj de este dispositivo está atrasado, repita con `--accept-time`"
        }
        Phrase::ControlCharacter => "se esperaba texto simple, se recibió el carácter de control {character}",
        Phrase::UnitNotKnown => "este programa no conoce su unidad `{unit}`",
        Phrase::NoUnitExpected => "se esperaba un número sin unidad, se recibió `{text}`",
        Phrase::WholeExpected => "se esperaba un número entero, se recibió `{text}`",
        Phrase::NumberExpected => "se esperaba un número como `{example}`, se recibió `{text}`",
        Phrase::NumberMarks => {
            "se esperaba un número como `{example}`, se recibió `{text}`: escriba punto para los decimales y nada para \
             los miles"
        }
        Phrase::SmallestStep => {
            "se esperaba 0, o por lo menos lo mínimo que se guarda, {least}{unit}; se recibió `{text}`"
        }
        Phrase::CommasExpected => {
            "se esperaban comas entre números donde hay fracciones, como en `1 1/4, 1 1/8`; se recibió `{text}`"
        }
        Phrase::TallyExpected => {
            "se esperaba cuántas veces se vio un número detrás de los dos puntos, como en `4:15`, hasta {most}; se \
             recibió `{text}`"
        }
        Phrase::SomeHaveUnits => "`--{flag}`: unos números de `{text}` llevan unidad y otros no",
        Phrase::PartsOrNumbers => "`--{flag}`: `{text}` puede ser un número en partes o varios",
        Phrase::WriteEachUnit => "escriba {ways}",
        Phrase::TooManyNumbers => "se esperaban a lo más {most} números, se recibieron más",
        Phrase::ToldInBushels => "`--{flag}` de `{kind}` se da en bushels; se recibió `{text}` sin unidad",
        Phrase::WriteYieldUnit => "escriba la unidad detrás: {ways}",
        Phrase::SeeKind => "vea `ligule kind {kind}`",
        Phrase::DidYouMean => "¿quiso decir `{word}`? {all}",
        Phrase::MeasuresAre => "las medidas son {words}",
        Phrase::CodesAre => "los códigos son {words}",
        Phrase::CodeOfSeveral => "`--{flag}` de `{kind}`: `{text}` puede ser varios de sus códigos",
        Phrase::DidYouMeanCode => "¿quiso decir {codes}?",
        Phrase::NearestCodesAre => "los códigos más cercanos son {words}",
        Phrase::AllCodes => "`ligule kind {kind} --codes` los muestra todos",
        Phrase::KindsAre => "los temas son {words}",
        Phrase::FieldsAre => "los lotes son {words}",
        Phrase::AndMore => "{words} y {n} más",
        Phrase::ShowsAll => "; `{command}` los muestra todos",
        Phrase::NoFieldsYet => "todavía no hay lotes; agregue uno con `ligule field add`, o sincronice con el equipo",
        // What waits for a person.
        Phrase::DoesNotGoTogether => "{key}: {why}; corrija lo que esté mal: {ways}",
        Phrase::MovedApart => "la visita {visit} de {field} se movió a lotes distintos y se cuenta en cada uno; {ways}",
        Phrase::IfItIs => "si lo correcto es {value}: {moves}",
        Phrase::SettledByValue => "el valor que vale resuelve un conflicto: {ways}",
        Phrase::CorrectedMeanwhile => {
            "{measure} se corrigió en {moved} mientras su visita se movía acá; diga qué valor vale: {ways}"
        }
        Phrase::ThereTwice => "{observations} dos veces; `ligule field doubles` dice qué hacer",
        // A sheet that is imported.
        Phrase::SheetNamed => "{file}, hoja `{sheet}`",
        Phrase::SheetTold => "{sheet}: {rows}; la asignación {origin}",
        Phrase::RowsAs => "{rows} como {kind}",
        Phrase::MappingGuessed => "se adivinó de los nombres de las columnas",
        Phrase::MappingKept => "es la guardada como `{name}`",
        Phrase::MappingOfFile => "es la de su archivo",
        Phrase::MappingIsKept => "la asignación queda guardada como `{name}` para planillas con las mismas columnas",
        Phrase::UnitBeside => "lo que diga `{header}`",
        Phrase::UnitUntold => "{unit}, que el encabezado no dice",
        Phrase::PlanKnown => "; ya estaban: {n}",
        Phrase::PlanDiffering => "; distintas de lo importado antes: {n}",
        Phrase::PlanRejected => "; rechazadas: {n}",
        Phrase::DryRun => "{plan}; fue un ensayo, no se anotó nada",
        Phrase::RecordWithMapping => "{plan}. ¿Anotar con esta asignación? [s/N]",
        Phrase::NobodyConfirmed => "nadie ha confirmado qué dicen las columnas",
        Phrase::NotConfirmed => "sin confirmar",
        Phrase::ConfirmMapping => {
            "si la asignación es correcta, repita con `--yes`; corríjala con `--column \"NOMBRE=SIGNIFICADO\"`, \
             `--kind TEMA`; no se anotó nada"
        }
        Phrase::HeldBack => "{what}; no se anotó nada",
        Phrase::HeldRejected => "{rows} con algo mal",
        Phrase::HeldDiffering => "{rows} con otro valor que lo importado antes",
        Phrase::MendSheet => "corrija la planilla, o anote las demás filas con `--keep-good`",
        Phrase::SettleDiffering => {
            "corrija lo anotado como se dice arriba, o diga con `--further` que estas son otras muestras, con \
             `--further=all` que lo son todas las filas; `--keep-good` anota las demás"
        }
        Phrase::RowAt => "línea {line}{place}: {reason}",
        Phrase::RowColumn => ", columna `{column}`",
        Phrase::MoreSuchRows => "{n} más como estas; `--format csv` las dice todas",
        Phrase::RecordedOnly => "anotado: {n}",
        Phrase::NoRows => "sin filas",
        Phrase::NoMappings => "no hay asignaciones guardadas",
        Phrase::MendRow => "corrija la fila, y ponga entre comillas la celda que tenga una coma",
        Phrase::NoKindTold => "no se dice ningún tema",
        Phrase::NoFieldTold => "no se dice ningún lote",
        Phrase::NoDayTold => "no se dice el día",
        Phrase::PlainName => "un nombre no lleva caracteres de control",
        Phrase::PlaceNeedsBoth => "un lugar necesita latitud y longitud",
        Phrase::DateInCell => "la planilla tiene aquí una fecha; ¿era un número o una fracción que se volvió fecha?",
        Phrase::PointInNumber => "`{text}` tiene un punto donde los decimales van con coma; no marque los miles",
        Phrase::CommaInNumber => {
            "`{text}` tiene una coma; diga `--decimal comma` si es decimal, o escriba punto para los decimales y nada \
             para los miles"
        }
        Phrase::DateExpected => {
            "se esperaba una fecha como `2026-05-28`, `28 mayo 2026` o `2026-05-28 07:40`, se recibió `{text}`"
        }
        Phrase::TimeExpected => "se esperaba una hora como `07:40` o `7:40 PM`, se recibió `{text}`",
        Phrase::DayNumber => {
            "`{text}` es el número de un día como lo guarda una hoja de cálculo; dé a la columna formato de fecha, o \
             diga `--dates serial`"
        }
        Phrase::DateTwoWays => {
            "`{text}` se puede leer de dos maneras; diga `--dates mdy` si es mes/día/año o `--dates dmy` si es \
             día/mes/año"
        }
        Phrase::NoDateMdy => "`{text}` no es una fecha como mes/día/año",
        Phrase::NoDateDmy => "`{text}` no es una fecha como día/mes/año",
        Phrase::VoidSince => "anulada desde entonces: {why}",
        Phrase::CorrectedSince => "corregida desde entonces",
        Phrase::CorrectRow => {
            "para corregirla: `ligule amend {key} {amend}`; si es otra muestra: `--further`, y si otras de esta \
             planilla dicen lo mismo que lo anotado, `--further=all`"
        }
        // Small words.
        Phrase::WordYes => "sí",
        Phrase::WordNo => "no",
        Phrase::WordAnd => " y ",
        Phrase::WordOr => ", o ",
        // A field and its boundary.
        Phrase::SheetNamesNobody => {
            "ninguna columna dice quién observó: anotado como visto por {by}; si otro equipo importa esta planilla, queda \
             una de las personas; `--by NOMBRE`, igual en todos, dice quién fue"
        }
        Phrase::NobodyAnswers => {
            "sin respuesta de {address} en {seconds} s: compruebe que `ligule sync serve` esté en marcha allí, que los dos \
             dispositivos estén en la misma red y que su cortafuegos deje pasar UDP"
        }
        Phrase::NobodyNearby => {
            "en {seconds} s no se encontró cerca ningún otro dispositivo del equipo; compruebe que uno esté esperando (`ligule \
             sync serve`) y en la misma red; muchos puntos de acceso aíslan los dispositivos o bloquean multicast: escriba \
             entonces su dirección (`IP:PUERTO`), conecte los dos al teléfono de alguien, o lleve un archivo (`ligule bundle`)"
        }
        Phrase::NoMemberThere => {
            "el dispositivo en {address} no es ninguno de los otros que este conoce del equipo ({tried}); si acaba de entrar, \
             sincronice con quien lo admitió, o escriba también su identificador: `{address}#DISPOSITIVO`"
        }
        Phrase::ConnectionBroke => {
            "se cortó la conexión ({reason}); lo confirmado está guardado, empiece de nuevo para el resto"
        }
        Phrase::DeviceFellSilent => {
            "el otro dispositivo calló durante {seconds} s; lo confirmado está guardado, empiece de nuevo para el resto"
        }
        Phrase::NotOfTheCrew => {
            "el otro dispositivo se negó: no conoce a este como miembro de su equipo; pida una invitación a un miembro"
        }
        Phrase::RemovedHere => {
            "este dispositivo fue sacado del equipo y los demás no intercambian nada con él; para volver, pida a un miembro \
             que lo invite (`ligule crew invite` allá, `ligule crew join INVITACIÓN` acá): entonces pasa lo que no se había \
             entregado. Todo lo que tiene queda en él, y `ligule journal export` lo escribe en un archivo"
        }
        Phrase::DeviceWasRemoved => {
            "{by} sacó del equipo el dispositivo {device} de {person} el {at}; no se toma nada de él"
        }
        Phrase::RemovedCanReturn => {
            "lo que anotó y no entregó antes todavía puede llegar: invítelo de nuevo (`ligule crew invite` acá, `ligule crew \
             join INVITACIÓN` allá) y sincronice, o pídale que escriba otro archivo (`ligule bundle write`)"
        }
        Phrase::FieldNowRetired => "se dio de baja el lote {field}",
        Phrase::FieldTakenBack => "el lote {field} volvió a las listas",
        Phrase::FieldIsSplit => "se dio de baja el lote {field}; sus registros quedan en él",
        Phrase::PlantingCopied => "la siembra {key} se copió a cada parte",
        Phrase::PlantingWaits => "la siembra {key} espera que alguien decida (`ligule conflicts`), y no se copió",
        Phrase::FieldMerged => "{part} ahora es parte de {field}",
        Phrase::TwiceHere => "{observations} dos veces, y se cuenta dos veces: vea `ligule field doubles {field}`",
        Phrase::JournalWhole => "sin daños: {documents} y {observations}",
        Phrase::FieldRetired => {
            "{field} está dado de baja; `ligule field retire --undo {field}` lo devuelve a las listas"
        }
        Phrase::FieldWasSplit => {
            "{field} está dado de baja y se dividió en {parts}; lo que es de una parte se pasa con `ligule \
             visit move VISITA PARTE`"
        }
        Phrase::OnSplitField => {
            "{field} se dividió en {parts}, y hay {observations} en él de después de eso; `ligule visit move {visit} PARTE` \
             pasa una visita a donde corresponde"
        }
        Phrase::SplitTwoWays => {
            "{field} se dividió de dos maneras, que están en el mismo terreno, así que su siembra puede contarse en cada una: \
             {into}. Si dos partes son una, `ligule field merge PARTE OTRA`. Si una manera está mal, pase sus visitas a donde \
             corresponden (`ligule visit move VISITA PARTE`); luego, {keep}"
        }
        Phrase::KeepThisSplit => "para quedarse con {parts}: {lines}",
        Phrase::OnRetiredField => {
            "{field} se dio de baja, y hay {observations} en él de después de eso; no está en ninguna lista: `ligule visit \
             move {visit} LOTE` pasa una visita a donde corresponde, `ligule field retire --undo {field}` devuelve el lote a las listas"
        }
        Phrase::ClockBehindField => {
            "el reloj de este dispositivo marca {now}, pero {field} se agregó el {day}: si el reloj está mal, póngalo en \
             hora, o diga la hora con `--at`"
        }
        Phrase::ClockBehindRecords => {
            "el reloj de este dispositivo marca {now}, pero {field} se vio el {day}: si el reloj está mal, póngalo en \
             hora, o diga la hora con `--at`"
        }
        Phrase::ClockAhead => {
            "el reloj del dispositivo de {person} va {span} por delante del de este, que marca {now}: uno de los dos está \
             mal; póngalo en hora antes de seguir. Cada registro guarda la hora que dijo su dispositivo; anule lo que fechó \
             un reloj errado, y hágalo de nuevo con `--at`"
        }
        Phrase::ClockBehind => {
            "el reloj del dispositivo de {person} va {span} por detrás del de este, que marca {now}: uno de los dos está \
             mal; póngalo en hora antes de seguir. Cada registro guarda la hora que dijo su dispositivo; anule lo que fechó \
             un reloj errado, y hágalo de nuevo con `--at`"
        }
        Phrase::VoidedWhileMoved => {
            "{by} anuló {key} (\"{why}\") mientras se pasaba a {field}: su copia {copy} queda anulada también"
        }
        Phrase::SittingMoved => {
            "lo anotado en esta visita se pasó a {to}: lo que se anote ahora es de {field}, en otra visita; si está en {to}, \
             `salir`, y luego `ligule visit {to}`"
        }
        Phrase::AboutYears => "unos {years} años",
        Phrase::DatedByWrongClock => {
            "un reloj del dispositivo de {person} estuvo mal: {observations} una hora que no puede ser: {which}; todas: \
             {lists}; anule cada una y hágala de nuevo con `--at`"
        }
        Phrase::DatedBeforeField => {
            "un reloj estuvo mal, el del dispositivo de {person} o el del que agregó el lote: {observations} antes de que \
             se agregara el lote: {which}; todas: {lists}; anule cada una y hágala de nuevo con `--at`"
        }
        Phrase::WronglyDated => "{key} ({kind} en {field}, {at})",
        Phrase::DatedBefore => "{key} ({kind} en {field}, {at}; el lote se agregó el {added})",
        Phrase::ChangesOfWrongClock => {
            "un reloj estuvo mal: llegaron {changes} de {of} con una hora que no puede ser; los valores quedan, y `ligule \
             history OBSERVACIÓN` muestra la hora que dice cada uno"
        }
        Phrase::ChangesBeforeOthers => {
            "un reloj estuvo mal, el del dispositivo de {person} u otro: llegaron {changes} de {of} con una hora anterior \
             ({at}) a la de aquello tras lo que se hicieron ({after}): {which}; `ligule history OBSERVACIÓN` muestra la \
             hora que dice cada uno. Anule lo que fechó un reloj errado, y hágalo de nuevo con `--at`"
        }
        Phrase::InvitationOver => {
            "{why}. Según el reloj de este dispositivo, que marca {now}, la invitación venció hace {span}"
        }
        Phrase::InvitationServesOne => {
            "una invitación sirve a un dispositivo, y solo mientras corre `ligule crew invite`; pida otra"
        }
        Phrase::InvitationOrClock => {
            "pida otra: una invitación sirve a un dispositivo, y solo mientras corre `ligule crew invite`; si el reloj de \
             este dispositivo está mal, póngalo en hora"
        }
        Phrase::InsideBoundary => "dentro del lindero de {field}",
        Phrase::OutsideBoundary => "{far} fuera del lindero de {field}",
        // When and where.
        Phrase::WhenExpected => {
            "se esperaba una hora como `2026-05-28T07:40`, `2026-05-28` o `07:40`; se recibió `{text}`"
        }
        Phrase::WhenAtTheField => "la hora se lee en la zona horaria del lote",
        Phrase::WhenSkipped => "`{text}` no existe en el lote: los relojes se adelantaron y saltaron esa hora",
        Phrase::WhenOnTheClock => "dé la hora que marcaba el reloj",
        Phrase::WhenAhead => "`{text}` está en el futuro; el reloj de este dispositivo marca {clock}",
        Phrase::WhenTooEarly => "se esperaba un día desde 1970-01-01, no `{text}`",
        Phrase::WhenTwice => {
            "los relojes del lote marcaron {clock} dos veces, porque ese día se atrasaron: se toma la primera, {first}; la \
             segunda sería {second}"
        }
        Phrase::RowsTwice => {
            "la hora de {n} se dio dos veces, porque ese día los relojes del lote se atrasaron (la primera, en la línea \
             {line}): se toma la primera, {first}; la segunda sería {second}"
        }
        Phrase::CheckTheYear => "revise el año",
        Phrase::ZoneUnknown => "`{name}` no es una zona horaria de IANA",
        Phrase::ZoneForm => "escríbala como región y ciudad, por ejemplo `America/Chicago` o `America/Mexico_City`",
        Phrase::PlaceExpected => {
            "se esperaban latitud, de -90 a 90, y longitud, de -180 a 180, en grados; se recibió `{text}`"
        }
        Phrase::PlaceForm => "con punto para los decimales y coma entre las dos, por ejemplo `42.0318,-93.6203`",
        Phrase::NoFieldDrawn => "ningún lote tiene lindero; un lugar no dice de qué lote es",
        Phrase::NameOrDraw => "nombre el lote, o traiga linderos con `ligule field import ARCHIVO`",
        Phrase::NoFieldNear => "ningún lote está a menos de {far} del lugar; los más cercanos: {fields}",
        Phrase::NameTurnedRound => "nombre el lote; ¿no están al revés la latitud y la longitud?",
        Phrase::PlaceInSeveral => "el lugar está en varios lotes: {fields}",
        Phrase::PlaceNearSeveral => "varios lotes están casi igual de cerca: {fields}",
        Phrase::NameMeant => "nombre el lote al que se refiere",
        Phrase::WhichObserved => "¿qué lote se observó?",
        Phrase::WhichVisited => "¿qué lote se visita?",
        Phrase::NameObserved => {
            "nómbrelo, como en `ligule record stand-count lote-40 …`, o diga dónde está parado con `--near LAT,LON`"
        }
        Phrase::NameVisited => {
            "nómbrelo, como en `ligule visit lote-40`, o diga dónde está parado con `--near LAT,LON`"
        }
        Phrase::FieldsOfOneName => "{n} lotes se llaman `{name}`: {ids}",
        Phrase::MergeOrRename => {
            "si son uno solo, `ligule field merge {name}`; si no, nombre el lote por su identificador, o cambie el \
             nombre de uno con `ligule field amend ID --name NOMBRE-NUEVO`"
        }
        Phrase::NobodyObserved => "`--by` no nombra a nadie",
        Phrase::NameWhoObserved => "dé el nombre de quien observó",
        Phrase::ObservedAtStation => "`{kind}` se observa en una estación, no en un lote",
        Phrase::ImportWeather => "use `ligule import weather ARCHIVO`",
        Phrase::DayAfterObservation => "`--{flag}`: {day} es después de {observed}, el día de la observación",
        Phrase::CorrectOrSayWhen => "corrija `--{flag}`, o diga con `--at` cuándo se observó",
        Phrase::DayOfOtherSeason => "`--{flag}`: {day} es de otra campaña que la observación, que es de {season}",
        Phrase::CorrectOrRecordThen => {
            "corrija `--{flag}`, o anótela en su propia campaña, por ejemplo con `--at {day}`"
        }
        Phrase::MendThese => "corríjalo; no se anotó nada",
        Phrase::MendTheseLines => "corrija estas líneas; no se anotó nada",
        // Correcting and visits.
        Phrase::NoSuchObservation => "no hay observación `{key}` en este diario",
        Phrase::ListShowsThem => "`ligule list` muestra las observaciones",
        Phrase::VoidWins => "{key} está anulada, y una anulación pesa más que una corrección",
        Phrase::RecordAnew => "anote la observación de nuevo",
        Phrase::VoidNeedsReason => "para anular hace falta un motivo",
        Phrase::SayWhy => "dígalo con `--why`",
        Phrase::VoidAlready => "{key} ya está anulada: {why} ({by})",
        Phrase::HistoryShowsIt => "su historia lo muestra",
        Phrase::ReasonOfMove => "`{why}` es lo que escribe un traslado de visita, y se leería como tal",
        Phrase::MoveOrReword => "mueva la visita con `ligule visit move`, o dígalo con otras palabras",
        Phrase::KindOfOthers => "este dispositivo no conoce el tema `{kind}` y lo guarda tal cual",
        Phrase::CorrectWhereKnown => "corríjala en un dispositivo que conozca el tema",
        Phrase::MeasureExpected => "se esperaba una medida como `--plants`; se recibió `{word}`",
        Phrase::QuoteBlanks => "ponga entre comillas un valor que tenga espacios",
        Phrase::FlagWithoutValue => "`--{flag}` no tiene valor",
        Phrase::WriteFlagValue => "escriba `--{flag} VALOR`",
        Phrase::NoSuchVisit => "no hay visita `{name}`",
        Phrase::SeveralVisits => "varias visitas empiezan con `{name}`; escriba más",
        Phrase::NoVisitOfAField => "`{name}` no es una visita de un lote",
        Phrase::VisitListShows => "`ligule visit list LOTE` muestra las visitas",
        Phrase::VisitThereAlready => "la visita ya es de {field}",
        Phrase::NameAnotherField => "nombre otro lote",
        Phrase::VisitAllVoid => "todas las observaciones de la visita de {field} están anuladas",
        Phrase::VisitMovedAlready => "la visita ya se trasladó de {field} a {to}",
        Phrase::MoveOnFromThere => "`ligule visit move {visit} {field}` la traslada desde allí",
        Phrase::NothingToMove => "`ligule visit show` dice por qué; no hay nada que mover",
        Phrase::VisitWaits => "{measures} de {key} espera que alguien decida",
        Phrase::ResolveThenMove => "decídalo primero con `ligule resolve`, y luego mueva la visita",
        Phrase::VisitMovedTold => "trasladado de {from} a {to}, visita {visit}: {n}",
        Phrase::VoidLeftThere => "; {n} en {field}",
        Phrase::CopyDiffers => "{name} de {original} es {there}; su copia {copy} tiene {here}",
        Phrase::NothingThere => "nada",
        Phrase::ResolveOnCopy => "{difference}; `ligule resolve` en la copia dice cuál vale",
        Phrase::VisitsApart => {
            "una visita se movió a lotes distintos en dos dispositivos; `ligule conflicts` dice qué hacer"
        }
        Phrase::AnswerUnread => "no se puede leer la respuesta: {error}",
        Phrase::AnswersKept => "las respuestas anteriores están guardadas; `ligule visit LOTE` sigue",
        Phrase::SampleUnfinished => "en {field} quedó incompleta una observación de otra visita",
        Phrase::GoOnOrGiveUp => "siga con ella sin nombrar temas ni hora, o abandónela con `--new`",
        Phrase::AgainExpected => "se esperaba `otra` o Entrar; se recibió `{line}`",
        Phrase::BehindIsRecorded => "la muestra anterior ya está anotada: no se puede volver a sus respuestas",
        Phrase::AmendCorrects => "para corregir lo anotado use `ligule amend`",
        Phrase::NoSampleYet => "todavía no hay una muestra de la que tomar otra",
        Phrase::AnswerOrSkipKind => "responda, o `saltar`",
        Phrase::FirstQuestion => "esta es la primera pregunta",
        Phrase::AnswerSkipOrQuit => "respóndala, `saltar` deja el tema, o `salir`",
        Phrase::OfferedAgain => "las respuestas se ofrecen otra vez; `saltar` las abandona",
        Phrase::VisitElsewhere => "la visita de {field} sigue en otra ventana; aquí no se anotó nada",
        Phrase::GoOnThere => "siga donde la retomó, o empiece `ligule visit` otra vez",
        // Photos.
        Phrase::PictureExpected => "nombre una imagen de 200 MB a lo más; no se anotó nada",
        Phrase::NoSuchFile => "{file}: no existe ese archivo",
        Phrase::NoPicture => "{file} no es una imagen por su contenido",
        Phrase::PicturesKept => "se guardan JPEG, PNG, HEIC, WebP y TIFF; no se anotó nada",
        Phrase::HashExpected => {
            "`--{flag}` de `{kind}`: se esperaba un resumen BLAKE3, 64 cifras hexadecimales en minúsculas; se \
             recibió `{text}`"
        }
        Phrase::NameTheFile => "nombre mejor el archivo: `ligule record photo LOTE ARCHIVO`",
        Phrase::PhotoThere => "{file} ya está anotada allí, como {key}; no se anotó nada",
        Phrase::PhotoKnown => "{file}: ya está anotada allí, como {key}",
        Phrase::PhotoAmend => "`ligule amend {key} {words}` lo dice de esa",
        Phrase::PhotoOtherTime => {
            "{file}: la cámara dice otra hora u otro lugar que {key}, que queda como está; para tomar lo de la cámara, \
             `ligule void {key} --why \"anotado de nuevo\"`, y luego lo mismo otra vez"
        }
        Phrase::PhotoCut => {
            "{file} parece cortado o dañado: le falta el final; se guarda como está; si hay uno entero, anótelo también"
        }
        Phrase::NoImageInIt => "{file} empieza como una imagen y termina antes de cualquier parte de ella",
        Phrase::PictureAnew => "cópiela de nuevo de la cámara; no se anotó nada",
        Phrase::PhotoAnew => {
            "la hora, el lugar y la persona de una anotación no cambian: `ligule void {key} --why \"anotada de \
             nuevo\"`, y luego lo mismo otra vez"
        }
        Phrase::NoSuchPhoto => "no hay foto `{name}`",
        Phrase::SeveralPhotos => "varias fotos empiezan con `{name}`",
        Phrase::PhotoListShows => {
            "`ligule photo list` muestra las fotos; nombre la observación, o al menos 8 cifras del resumen"
        }
        Phrase::PhotoNotHere => "la foto {photo} falta en este dispositivo",
        Phrase::PhotoDamaged => "la foto {photo} está dañada en este dispositivo",
        Phrase::PhotosNotHere => "{n} en este dispositivo: {mend}",
        Phrase::PhotoMend => {
            "`ligule sync with`, o un archivo de `ligule bundle write --photos`, la trae de un dispositivo que la \
             tenga; o anote la imagen otra vez desde su archivo"
        }
        Phrase::PhotoUntimed => "{file} no dice cuándo se tomó",
        Phrase::GivePhotoTime => "dé la hora con `--at`, o quite `--from-exif`; no se anotó nada",
        Phrase::TakenAt => "tomada el {at}",
        Phrase::TakenIn => "tomada en {place}",
        Phrase::TakenAtIn => "tomada el {at}, en {place}",
        Phrase::PhotoTold => "{file}: {told} (según EXIF)",
        Phrase::PhotoToldUnused => {
            "{file}: {told} (EXIF); no se usó; para anotarla así, anule la observación y anote el archivo otra vez \
             con `--from-exif`"
        }
        Phrase::PhotoToldAsk => "{file}: {told} (EXIF). ¿Anotarla así? [s/N]",
        Phrase::PhotoWrote => "se escribió {file}",
        // Far places.
        Phrase::PlaceAway => "{field} (a {far})",
        Phrase::PlaceTooFar => "{place} está a {far} de {field}",
        Phrase::PlaceOfNoPart => "{place} no está en ninguna parte de {country}, donde está {field}",
        Phrase::LatitudeFirst => {
            "la latitud va primero, y las longitudes al oeste de Greenwich llevan menos, como en `42.0318,-93.6203`"
        }
        // Labels of messages.
        Phrase::LabelHint => "consejo:",
        // Numbers that can be read in two ways.
        Phrase::NumberTwoWays => "`--{flag}` de `{kind}`: `{text}` puede ser {decimal} o {whole}",
        Phrase::WriteDecimalOrWhole => "escriba `{decimal}` si la marca es decimal, `{whole}` si es de miles",
        Phrase::OneNumberOrTwo => "`--{flag}` de `{kind}`: `{text}` puede ser un número o dos",
        Phrase::WriteOneOrTwo => "escriba `{one}` si es uno, `{two}` si son dos",
        // Lines of a file and flags in a row.
        Phrase::LineOf => "{file}, línea {n}",
        Phrase::QuoteOpen => "falta cerrar unas comillas",
        Phrase::KindAndFieldExpected => "se esperaban un tema y un lote",
        Phrase::NoLines => "{file} no tiene líneas que anotar",
        Phrase::OneALine => "escriba una observación por línea",
        Phrase::FileUnread => "no se puede leer {file}: {error}",
        Phrase::NameTextFile => "nombre un archivo de texto, o `-` para la entrada estándar",
        Phrase::NothingToRecord => "nada que anotar",
        Phrase::NameKindAndField => {
            "nombre un tema y un lote, como en `ligule record stand-count lote-40 …`, o un archivo con `--lines`; \
             `ligule kind` muestra los temas"
        }
        Phrase::FlagGivenTwice => "una opción se dio dos veces",
        Phrase::EachOnceForFiles => "dé cada una una vez; varios archivos se anotan con los mismos valores",
        Phrase::FlagBehindAnd => {
            "`--{flag}` detrás de `--and` sería de esa observación sola; escríbalo antes del primer `--and`, o con cada una"
        }
        Phrase::DayLongAgo => {
            "el año {year} está {years} años atrás; si está mal escrito, `ligule void` quita la observación"
        }
        Phrase::NumberUnread => "{n} (como se guarda: este dispositivo no conoce su unidad)",
        Phrase::NoFilesBehindAnd => "detrás de `--and` no se nombran archivos; dé a las imágenes su propia orden",
        Phrase::GivenUnlikeTimes => "`--{most}` se dio {number} veces, `--{flag}` {times} veces",
        Phrase::GiveOnceOrEach => {
            "dé `--{flag}` una vez, para todas, o {number} veces, una para cada una; no se anotó nada"
        }
        // The journal, the crew, fields.
        Phrase::JournalStarted => "diario empezado en {folder}",
        Phrase::PersonAndCrew => "persona {person}, equipo \"{crew}\", dispositivo {device}",
        Phrase::CrewHolds => "equipo \"{crew}\"; lo que guarda este dispositivo tiene el resumen {digest}",
        Phrase::CrewReads => "lee en unidades {system}, idioma {language}",
        Phrase::CrewReadsNow => "anotado: el equipo lee en unidades {system}, idioma {language}",
        Phrase::NoMembers => "sin miembros",
        Phrase::FieldRecorded => "anotado el lote {field} ({grower}, {region})",
        Phrase::FieldNameExpected => "se esperaba un nombre corto de letras, cifras y guiones; se recibió `{name}`",
        Phrase::FieldNameForm => "por ejemplo `lote-40`",
        Phrase::FieldNameTaken => "el equipo ya tiene un lote `{name}`; elija otro nombre",
        Phrase::GrowerNobody => "`--grower` no nombra a nadie",
        Phrase::NameGrower => "dé el nombre de quien trabaja el lote",
        Phrase::GiveFieldQuantity => "dé un número con su unidad, como `76cm` o `16ha`",
        Phrase::OutOfRange => "`{text}` está fuera de rango",
        // What the columns of a sheet tell.
        Phrase::NoKindOfColumns => "las columnas no dicen ningún tema",
        Phrase::SayWhichKind => "diga cuál con `--kind TEMA`; `ligule kind` muestra los temas",
        Phrase::HeaderLower => "{say}; si los nombres de las columnas están más abajo, dígalo con `--header-row N`",
        Phrase::TwoKindsFit => "las columnas sirven tanto para `{one}` como para `{other}`",
        Phrase::NoKindWhole => "las columnas no alcanzan para ningún tema; el más cercano es `{kind}`{lacks}",
        Phrase::ColumnsLack => ", del que ninguna columna dice {lacks}",
        Phrase::NameColumnsOf => {
            "si es ese, diga `--kind {kind}`, y nombre las columnas que lo dicen con `--column \"NOMBRE=MEDIDA\"`, \
             o agréguelas a la planilla"
        }
        Phrase::NoSuchMeaning => "`{header}`: `{name}` no es una medida, ni otra cosa que diga una columna",
        Phrase::MeaningsAre => "puede decir {words}",
        Phrase::NoSuchColumn => "no hay columna `{header}`",
        Phrase::SeveralColumns => "varias columnas se llaman `{header}`",
        Phrase::ColumnsAre => "las columnas son {words}",
        Phrase::ColumnTwice => {
            "`{header}` también dice `{measure}`; se toma de `{other}`, y de `{header}` no se anota nada; para hacerlo al \
             revés diga `{say}`"
        }
        Phrase::OneNameTwice => {
            "dos columnas se llaman `{header}` y no dicen lo mismo: en la línea {line} una dice `{one}`, la otra `{other}`"
        }
        Phrase::RenameColumn => "cambie el nombre de la que no vale, o quítela; luego importe de nuevo",
        Phrase::HiddenRows => "el libro oculta {n}, con un filtro o a mano; lo oculto también se lee",
        Phrase::NothingOfColumns => "de {columns} no se anota nada",
        Phrase::DatesMdy => "las fechas son mes/día/año: `{example}` en `{header}` no puede ser otra cosa",
        Phrase::DatesDmy => "las fechas son día/mes/año: `{example}` en `{header}` no puede ser otra cosa",
        Phrase::DatesMixed => "las fechas en `{header}` no van en un solo orden: {one} y {other}",
        Phrase::MendDates => {
            "corríjalas, o diga `--dates mdy` si son mes/día/año o `--dates dmy` si son día/mes/año; las de otro \
             orden se rechazan entonces"
        }
        Phrase::KindUntold => "nada dice de qué tema son las filas",
        Phrase::BothTell => "las columnas `{one}` y `{other}` dicen las dos {meaning}",
        Phrase::SayWhichIdle => "diga cuál no dice nada, como en `--column \"{header}=nothing\"`",
        Phrase::FieldUntold => "ninguna columna dice de qué lote es cada fila",
        Phrase::NameFieldColumn => {
            "nombre la columna, como en `--column \"{header}=field\"`, o diga `--field NOMBRE` para todas las filas"
        }
        Phrase::DayUntold => "ninguna columna dice qué día se observó cada fila",
        Phrase::NameDayColumn => {
            "nombre la columna, como en `--column \"{header}=day\"`, o diga `--on AAAA-MM-DD` para todas las filas"
        }
        Phrase::NameBothOrNeither => "nombre las dos columnas, o ninguna",
        Phrase::LongNeedsBoth => {
            "una fila por valor necesita una columna con el nombre de la medida y otra con su valor"
        }
        Phrase::NameBothLong => "nombre las dos columnas, como en `--column \"medida=measure-name\"`",
        Phrase::NoColumnMeasures => "ninguna columna dice una medida",
        Phrase::NameMeasureColumn => {
            "nombre una, como en `--column \"{header}={measure}\"`; `ligule kind` muestra las medidas"
        }
        Phrase::WordColumn => "COLUMNA",
        // What an exchange brought.
        Phrase::Exchanged => {
            "intercambio con {person}: entraron {changes_in}, salieron {changes_out}; diferían {differing} de \
             {documents}; {bytes_in} de entrada, {bytes_out} de salida"
        }
        Phrase::PhotosExchanged => "entraron {received}, salieron {sent}; {size_in} de entrada, {size_out} de salida",
        Phrase::ForAPerson => "{conflicts} que alguien decida; vea `ligule conflicts`",
        Phrase::NotTakenIn => "no se admitió: {refused}",
        Phrase::ListeningOn => {
            "esperando en {addresses} (los otros dispositivos del equipo llegan con `ligule sync with {first}`)"
        }
        Phrase::ListeningNearby => {
            "esperando; los otros dispositivos del equipo lo encuentran con `ligule sync with` en la misma red"
        }
        Phrase::AndPhotos => ", y {photos}, {size}",
        Phrase::BundleTaken => "{file} de {person}: {changes} en {documents}{photos}",
        Phrase::PersonJoined => "{person} entró con el dispositivo {device}",
        Phrase::SyncNext => {
            "`ligule sync with` trae ahora los registros del equipo, mientras otro dispositivo del equipo corre `ligule sync \
             serve`"
        }
        Phrase::CrewJoined => "ahora es del equipo \"{crew}\" de {inviter}",
        Phrase::CameAlong => "{observations}, hechas aquí antes, vienen también",
        // A list of codes.
        Phrase::CodesOfList => "lista {list}",
        // Members of the crew.
        Phrase::MemberHere => "este dispositivo",
        Phrase::MemberOfCrew => "miembro",
        Phrase::MemberRemoved => "sacado",
        // Nothing to resolve.
        Phrase::NotInConflict => "`{measure}` de {key} no está en conflicto",
        Phrase::ConflictsShow => "`ligule conflicts` muestra lo que espera; `ligule amend` corrige un valor",
        // A column without a unit.
        Phrase::UnitTaken => "`{header}` no dice unidad: sus números se leen en {unit}",
        // The help of what can be recorded.
        Phrase::HelpMeasures => "Medidas",
        Phrase::HelpTimeAndPlace => "Hora y lugar",
        Phrase::HelpExample => "Ejemplo:",
        Phrase::HelpSeveral => {
            "Varias de una vez: una opción que se da una vez vale para todas; la que se da varias veces dice cada una."
        }
        Phrase::HelpField => "El lote, por su nombre; se omite donde lo dice `--near`",
        Phrase::HelpAt => {
            "Cuándo se observó: `2026-05-28T07:40`, o `07:40` de hoy, en la zona horaria del lote [si no se dice: \
             ahora]"
        }
        Phrase::HelpNear => "Dónde, en grados: `42.03,-93.62`; sin LOTE, halla el lote por su lindero",
        Phrase::HelpBy => "Quién observó [si no se dice: la persona de este diario]",
        Phrase::HelpAcceptTime => "Anotar una hora que está en el futuro según el reloj de este dispositivo",
        Phrase::HelpAnd => {
            "Otra observación del mismo lote, hora y persona, como se escribiría después de `ligule record`; se \
             anotan todas o ninguna"
        }
        Phrase::HelpCodes => "los códigos: `ligule kind {kind} --codes`",
    }
}

/// Why a text is no quantity.
pub(super) fn quantity_refusal(error: &Error, system: System) -> String {
    let expected = |one: &Dimension| format!("se esperaba {} como `{}`", dimension(*one), example(*one, system));
    match error {
        Error::Empty { expected: one } => format!("{}, no se recibió nada", expected(one)),
        Error::NoNumber { expected: one, came, at } => {
            format!("{}, se recibió `{came}`: no hay número en `{at}`", expected(one))
        }
        Error::Comma { expected: one, came } => format!(
            "{}, se recibió `{came}`: escriba punto para los decimales y nada para los miles (`5.31`, `32000`)",
            expected(one)
        ),
        Error::ZeroDenominator { came } => {
            format!("se esperaba una fracción como `3/4`, se recibió `{came}`: nada se divide entre cero")
        }
        Error::TooManyDigits { came } => {
            format!("se esperaban a lo más 18 cifras en un número, se recibió `{came}`: escriba menos")
        }
        Error::UnknownUnit { expected: one, came, unit, nearest } => {
            let nearest = nearest.as_ref().map(|near| format!(", ¿quiso decir `{near}`?")).unwrap_or_default();
            format!(
                "{}, se recibió `{came}`: unidad desconocida `{unit}`{nearest}; unidades aquí: {}",
                expected(one),
                symbols(*one)
            )
        }
        Error::PartWithoutUnit { expected: one, came, after } => format!(
            "se esperaba una unidad después de cada parte, se recibió `{came}`: falta después de `{after}`; unidades \
             aquí: {}",
            symbols(*one)
        ),
        Error::Parts { came } => format!(
            "se esperaban partes de mayor a menor, cada una menos que una de la unidad anterior (`17 ft 5 in`, `5 m 31 cm`), \
             se recibió `{came}`"
        ),
        Error::WrongDimension { expected: one, got, came } => format!(
            "se esperaba {}, se recibió `{came}`, que es {}; unidades aquí: {}",
            dimension(*one),
            dimension(*got),
            symbols(*one)
        ),
        Error::Overflow { came, .. } => {
            format!("el número es demasiado grande, se recibió `{came}`: escriba uno menor")
        }
        Error::UnknownSystem { came } => format!("se esperaba `us` o `metric`, se recibió `{came}`"),
        other => other.to_string(),
    }
}

/// A quantity of a dimension as somebody who reads in these units writes it.
pub(super) fn example(one: Dimension, system: System) -> &'static str {
    if system == System::Us {
        return one.example();
    }
    match one {
        Dimension::Length => "5.31 m",
        Dimension::Area => "16 ha",
        Dimension::PerArea => "80000/ha",
        Dimension::PerLength => "28/m",
        Dimension::Temperature => "30 °C",
        Dimension::DegreeDays => "67 °C·d",
        Dimension::Mass => "25 kg",
        Dimension::MassPerArea => "112 kg/ha",
        Dimension::Speed => "11 km/h",
        Dimension::Pressure => "2 MPa",
        Dimension::BulkDensity => "72 kg/hL",
        other => other.example(),
    }
}

/// The symbols of a dimension's units; of a bare number there is a word.
fn symbols(one: Dimension) -> String {
    let symbols = Unit::of(one).map(|unit| if unit.symbol.is_empty() { "ninguna" } else { unit.symbol });
    symbols.collect::<Vec<_>>().join(", ")
}

/// A dimension with its article.
fn dimension(one: Dimension) -> &'static str {
    match one {
        Dimension::Ratio => "un número o un por ciento",
        Dimension::MassFraction => "un contenido en masa",
        Dimension::Length => "un largo",
        Dimension::Area => "una superficie",
        Dimension::PerArea => "un número por superficie",
        Dimension::PerLength => "un número por largo",
        Dimension::Temperature => "una temperatura",
        Dimension::DegreeDays => "una suma de grados-día",
        Dimension::Time => "un tiempo",
        Dimension::Mass => "una masa",
        Dimension::MassPerArea => "una masa por superficie",
        Dimension::BulkDensity => "una masa por bushel o hectolitro",
        Dimension::BushelsPerArea => "un número de bushels por superficie",
        Dimension::Speed => "una velocidad",
        Dimension::Angle => "un ángulo",
        Dimension::Pressure => "una presión",
        other => other.noun(),
    }
}

/// One and several of a thing.
pub(super) fn noun(noun: Noun) -> (&'static str, &'static str) {
    match noun {
        Noun::Plant => ("planta", "plantas"),
        Noun::Seed => ("semilla", "semillas"),
        Noun::Count => ("conteo", "conteos"),
        Noun::MoreCount => ("conteo más", "conteos más"),
        Noun::Gap => ("hueco", "huecos"),
        Noun::Value => ("valor", "valores"),
        Noun::Day => ("día", "días"),
        Noun::Place => ("sitio", "sitios"),
        Noun::Part => ("parte", "partes"),
        Noun::Observation => ("observación", "observaciones"),
        Noun::RecordedObservation => ("observación anotada", "observaciones anotadas"),
        Noun::VoidObservation => ("observación", "observaciones"),
        Noun::ObservationTwice => ("observación está", "observaciones están"),
        Noun::Row => ("fila", "filas"),
        Noun::RowHeld => ("fila", "filas"),
        Noun::NewObservation => ("observación nueva", "observaciones nuevas"),
        Noun::FieldOfCrew => ("lote", "lotes"),
        Noun::VoidStaying => ("queda anulada", "quedan anuladas"),
        Noun::PhotoIs => ("foto no está", "fotos no están"),
        Noun::Change => ("cambio", "cambios"),
        Noun::Document => ("documento", "documentos"),
        Noun::Byte => ("byte", "bytes"),
        Noun::Photo => ("foto", "fotos"),
        Noun::ConflictWaits => ("conflicto espera", "conflictos esperan"),
        Noun::NewChange => ("cambio nuevo", "cambios nuevos"),
        Noun::NewPhoto => ("foto nueva", "fotos nuevas"),
        Noun::ObservationTells => ("observación dice", "observaciones dicen"),
        Noun::ObservationDated => ("observación tiene fecha de", "observaciones tienen fecha de"),
    }
}

/// What a column of a listing is called, by its name for programs.
pub(super) fn heading(column: &str) -> Option<&'static str> {
    Some(match column {
        "about" => "para qué",
        "area" => "superficie",
        "area_ha" => "superficie ha",
        "at" => "cuándo",
        "by" => "quién",
        "bytes" => "tamaño en bytes",
        "candidate" => "candidato",
        "caption" => "qué muestra",
        "change" => "cambio",
        "code" => "código",
        "codes" => "códigos",
        "column" => "columna",
        "columns" => "columnas",
        "crop" => "cultivo",
        "device" => "dispositivo",
        "entered" => "como se escribió",
        "field" => "lote",
        "first_value" => "primer valor",
        "flag" => "opción",
        "file" => "archivo",
        "greatest" => "máximo",
        "grower" => "productor",
        "here" => "aquí",
        "hint" => "consejo",
        "kind" => "tema",
        "label" => "nombre",
        "last_visit" => "última visita",
        "least" => "mínimo",
        "line" => "línea",
        "measure" => "medida",
        "measures" => "medidas",
        "media_type" => "formato",
        "moved" => "movida",
        "name" => "nombre",
        "observation" => "observación",
        "observations" => "observaciones",
        "outline" => "contorno",
        "person" => "persona",
        "photo" => "foto",
        "reason" => "motivo",
        "row width" => "ancho de surco",
        "reentry" => "reentrada",
        "region" => "región",
        "required" => "obligatoria",
        "retired" => "retirado",
        "soil" => "suelo",
        "stage" => "etapa",
        "state" => "estado",
        "station" => "estación",
        "taken_at" => "tomada",
        "tells" => "dice",
        "type" => "tipo",
        "understood" => "se entendió",
        "unit" => "unidad",
        "value" => "valor",
        "values" => "valores",
        "visit" => "visita",
        "void" => "anuladas",
        "what" => "qué",
        "why" => "por qué",
        "zone" => "zona horaria",
        _ => return None,
    })
}
