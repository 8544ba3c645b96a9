//! The table: boundary dimensions and typical ratings.

use super::{Bearing, Kind, Rating};
use crate::Source;

const SEEN: Source = Source::seen(
    "ISO 15:2017 boundary dimensions; ratings to ISO 281 and ISO 76 at the lower of the makers' levels seen in print",
);
const MEMORY: Source = Source::memory(
    "ISO 15:2017 boundary dimensions; typical catalogue ratings to ISO 281 and ISO 76",
);
const INCH_SEEN: Source = Source::seen("US light inch R series, catalogue table");
const INCH_MEMORY: Source = Source::memory("US light inch R series");

const fn metric(
    name: &'static str,
    dimensions: [f64; 4],
    rating: Option<Rating>,
    source: Source,
) -> Bearing {
    let [bore, outside, width, closed_width] = dimensions;
    Bearing {
        name,
        kind: Kind::DeepGroove,
        bore,
        outside,
        width,
        closed_width,
        rating,
        source,
    }
}

const fn angular(name: &'static str, bore: f64, outside: f64, width: f64) -> Bearing {
    Bearing {
        name,
        kind: Kind::Angular,
        bore,
        outside,
        width,
        closed_width: width,
        rating: None,
        source: MEMORY,
    }
}

/// Dimensions in inches.
const fn inch(
    name: &'static str,
    dimensions: [f64; 4],
    rating: Option<Rating>,
    source: Source,
) -> Bearing {
    let [bore, outside, width, closed_width] = dimensions;
    Bearing {
        name,
        kind: Kind::DeepGroove,
        bore: bore * 25.4,
        outside: outside * 25.4,
        width: width * 25.4,
        closed_width: closed_width * 25.4,
        rating,
        source,
    }
}

const fn rating(dynamic: f64, fixed: f64, f0: f64) -> Rating {
    Rating { dynamic, fixed, f0 }
}

#[rustfmt::skip]
pub(super) const BEARINGS: [Bearing; 104] = [
    // Name; bore, outside, width open, width closed; C, C0 in N, f0.
    metric("604", [4.0, 12.0, 4.0, 4.0], Some(rating(806.0, 280.0, 10.0)), SEEN),
    metric("605", [5.0, 14.0, 5.0, 5.0], Some(rating(1330.0, 505.0, 13.2)), MEMORY),
    metric("606", [6.0, 17.0, 6.0, 6.0], Some(rating(2260.0, 840.0, 12.0)), MEMORY),
    metric("607", [7.0, 19.0, 6.0, 6.0], Some(rating(2340.0, 950.0, 13.0)), SEEN),
    metric("608", [8.0, 22.0, 7.0, 7.0], Some(rating(3300.0, 1370.0, 12.0)), SEEN),
    metric("609", [9.0, 24.0, 7.0, 7.0], Some(rating(3350.0, 1430.0, 13.0)), MEMORY),
    metric("6000", [10.0, 26.0, 8.0, 8.0], Some(rating(4550.0, 1960.0, 12.4)), SEEN),
    metric("6001", [12.0, 28.0, 8.0, 8.0], Some(rating(5100.0, 2390.0, 13.2)), SEEN),
    metric("6002", [15.0, 32.0, 9.0, 9.0], Some(rating(5600.0, 2830.0, 13.9)), MEMORY),
    metric("6003", [17.0, 35.0, 10.0, 10.0], Some(rating(6000.0, 3250.0, 14.4)), MEMORY),
    metric("6004", [20.0, 42.0, 12.0, 12.0], Some(rating(9400.0, 5000.0, 13.8)), MEMORY),
    metric("6005", [25.0, 47.0, 12.0, 12.0], Some(rating(10100.0, 5850.0, 14.5)), MEMORY),
    metric("6006", [30.0, 55.0, 13.0, 13.0], Some(rating(13200.0, 8300.0, 14.7)), MEMORY),
    metric("6007", [35.0, 62.0, 14.0, 14.0], Some(rating(16000.0, 10300.0, 14.8)), MEMORY),
    metric("6008", [40.0, 68.0, 15.0, 15.0], Some(rating(16800.0, 11500.0, 15.2)), MEMORY),
    metric("623", [3.0, 10.0, 4.0, 4.0], Some(rating(540.0, 180.0, 7.5)), SEEN),
    metric("624", [4.0, 13.0, 5.0, 5.0], Some(rating(936.0, 290.0, 10.0)), SEEN),
    metric("625", [5.0, 16.0, 5.0, 5.0], Some(rating(1140.0, 380.0, 8.4)), SEEN),
    metric("626", [6.0, 19.0, 6.0, 6.0], Some(rating(2340.0, 950.0, 13.0)), SEEN),
    metric("627", [7.0, 22.0, 7.0, 7.0], Some(rating(3300.0, 1370.0, 12.0)), SEEN),
    metric("628", [8.0, 24.0, 8.0, 8.0], Some(rating(3350.0, 1430.0, 13.0)), MEMORY),
    metric("629", [9.0, 26.0, 8.0, 8.0], Some(rating(4550.0, 1960.0, 12.0)), SEEN),
    metric("6200", [10.0, 30.0, 9.0, 9.0], Some(rating(5100.0, 2390.0, 13.2)), SEEN),
    metric("6201", [12.0, 32.0, 10.0, 10.0], Some(rating(6800.0, 3050.0, 12.3)), MEMORY),
    metric("6202", [15.0, 35.0, 11.0, 11.0], Some(rating(7650.0, 3750.0, 13.2)), MEMORY),
    metric("6203", [17.0, 40.0, 12.0, 12.0], Some(rating(9550.0, 4800.0, 13.2)), MEMORY),
    metric("6204", [20.0, 47.0, 14.0, 14.0], Some(rating(12800.0, 6600.0, 13.1)), MEMORY),
    metric("6205", [25.0, 52.0, 15.0, 15.0], Some(rating(14000.0, 7850.0, 13.9)), MEMORY),
    metric("6206", [30.0, 62.0, 16.0, 16.0], Some(rating(19500.0, 11300.0, 13.8)), MEMORY),
    metric("6207", [35.0, 72.0, 17.0, 17.0], Some(rating(25700.0, 15300.0, 13.8)), MEMORY),
    metric("6208", [40.0, 80.0, 18.0, 18.0], Some(rating(29100.0, 17800.0, 14.0)), MEMORY),
    metric("633", [3.0, 13.0, 5.0, 5.0], None, MEMORY),
    metric("634", [4.0, 16.0, 5.0, 5.0], Some(rating(1110.0, 380.0, 8.4)), SEEN),
    metric("635", [5.0, 19.0, 6.0, 6.0], Some(rating(2340.0, 950.0, 13.0)), SEEN),
    metric("6300", [10.0, 35.0, 11.0, 11.0], Some(rating(8100.0, 3450.0, 11.4)), MEMORY),
    metric("6301", [12.0, 37.0, 12.0, 12.0], Some(rating(9700.0, 4200.0, 11.1)), MEMORY),
    metric("6302", [15.0, 42.0, 13.0, 13.0], Some(rating(11400.0, 5450.0, 12.3)), MEMORY),
    metric("6303", [17.0, 47.0, 14.0, 14.0], Some(rating(13500.0, 6550.0, 12.4)), MEMORY),
    metric("6304", [20.0, 52.0, 15.0, 15.0], Some(rating(15900.0, 7850.0, 12.4)), MEMORY),
    metric("6305", [25.0, 62.0, 17.0, 17.0], Some(rating(20600.0, 11200.0, 13.2)), MEMORY),
    metric("6306", [30.0, 72.0, 19.0, 19.0], Some(rating(26700.0, 15000.0, 13.3)), MEMORY),
    metric("6307", [35.0, 80.0, 21.0, 21.0], Some(rating(33500.0, 19100.0, 13.2)), MEMORY),
    metric("6308", [40.0, 90.0, 23.0, 23.0], Some(rating(40500.0, 24000.0, 13.2)), MEMORY),
    metric("681", [1.0, 3.0, 1.0, 1.0], None, MEMORY),
    metric("682", [2.0, 5.0, 1.5, 2.3], None, MEMORY),
    metric("683", [3.0, 7.0, 2.0, 3.0], Some(rating(310.0, 110.0, 12.6)), MEMORY),
    metric("684", [4.0, 9.0, 2.5, 4.0], Some(rating(423.0, 116.0, 6.5)), SEEN),
    metric("685", [5.0, 11.0, 3.0, 5.0], Some(rating(468.0, 143.0, 7.1)), SEEN),
    metric("686", [6.0, 13.0, 3.5, 5.0], Some(rating(715.0, 224.0, 7.0)), SEEN),
    metric("687", [7.0, 14.0, 3.5, 5.0], Some(rating(780.0, 260.0, 7.2)), SEEN),
    metric("688", [8.0, 16.0, 4.0, 5.0], Some(rating(819.0, 300.0, 7.5)), SEEN),
    metric("689", [9.0, 17.0, 4.0, 5.0], Some(rating(871.0, 340.0, 7.7)), SEEN),
    metric("6800", [10.0, 19.0, 5.0, 5.0], Some(rating(1720.0, 830.0, 15.0)), SEEN),
    metric("6801", [12.0, 21.0, 5.0, 5.0], Some(rating(1920.0, 1040.0, 15.3)), SEEN),
    metric("6802", [15.0, 24.0, 5.0, 5.0], Some(rating(2070.0, 1260.0, 15.8)), MEMORY),
    metric("6803", [17.0, 26.0, 5.0, 5.0], Some(rating(2230.0, 1460.0, 16.1)), MEMORY),
    metric("6804", [20.0, 32.0, 7.0, 7.0], Some(rating(4000.0, 2470.0, 15.5)), MEMORY),
    metric("6805", [25.0, 37.0, 7.0, 7.0], Some(rating(4300.0, 2950.0, 16.1)), MEMORY),
    metric("6806", [30.0, 42.0, 7.0, 7.0], Some(rating(4700.0, 3650.0, 16.5)), MEMORY),
    metric("6807", [35.0, 47.0, 7.0, 7.0], Some(rating(4900.0, 4050.0, 16.4)), MEMORY),
    metric("6808", [40.0, 52.0, 7.0, 7.0], Some(rating(5100.0, 4400.0, 16.3)), MEMORY),
    metric("691", [1.0, 4.0, 1.6, 1.6], None, MEMORY),
    metric("692", [2.0, 6.0, 2.3, 3.0], None, MEMORY),
    metric("693", [3.0, 8.0, 3.0, 4.0], Some(rating(560.0, 180.0, 11.9)), MEMORY),
    metric("694", [4.0, 11.0, 4.0, 4.0], Some(rating(624.0, 180.0, 6.4)), SEEN),
    metric("695", [5.0, 13.0, 4.0, 4.0], Some(rating(884.0, 335.0, 11.0)), SEEN),
    metric("696", [6.0, 15.0, 5.0, 5.0], Some(rating(884.0, 270.0, 6.8)), SEEN),
    metric("697", [7.0, 17.0, 5.0, 5.0], Some(rating(1060.0, 375.0, 7.3)), SEEN),
    metric("698", [8.0, 19.0, 6.0, 6.0], Some(rating(1460.0, 465.0, 6.6)), SEEN),
    metric("699", [9.0, 20.0, 6.0, 6.0], Some(rating(2340.0, 980.0, 12.0)), SEEN),
    metric("6900", [10.0, 22.0, 6.0, 6.0], Some(rating(2700.0, 1270.0, 14.0)), SEEN),
    metric("6901", [12.0, 24.0, 6.0, 6.0], Some(rating(2890.0, 1460.0, 14.5)), SEEN),
    metric("6902", [15.0, 28.0, 7.0, 7.0], Some(rating(3650.0, 2000.0, 14.8)), MEMORY),
    metric("6903", [17.0, 30.0, 7.0, 7.0], Some(rating(4650.0, 2580.0, 14.7)), MEMORY),
    metric("6904", [20.0, 37.0, 9.0, 9.0], Some(rating(6400.0, 3700.0, 14.7)), MEMORY),
    metric("6905", [25.0, 42.0, 9.0, 9.0], Some(rating(7050.0, 4550.0, 15.4)), MEMORY),
    metric("6906", [30.0, 47.0, 9.0, 9.0], Some(rating(7250.0, 5000.0, 15.8)), MEMORY),
    metric("6907", [35.0, 55.0, 10.0, 10.0], Some(rating(9550.0, 6850.0, 15.8)), MEMORY),
    metric("6908", [40.0, 62.0, 12.0, 12.0], Some(rating(12200.0, 8900.0, 15.8)), MEMORY),
    angular("7000", 10.0, 26.0, 8.0),
    angular("7001", 12.0, 28.0, 8.0),
    angular("7002", 15.0, 32.0, 9.0),
    angular("7003", 17.0, 35.0, 10.0),
    angular("7004", 20.0, 42.0, 12.0),
    angular("7005", 25.0, 47.0, 12.0),
    angular("7006", 30.0, 55.0, 13.0),
    angular("7007", 35.0, 62.0, 14.0),
    angular("7008", 40.0, 68.0, 15.0),
    inch("R1-5", [3.0 / 32.0, 5.0 / 16.0, 7.0 / 64.0, 9.0 / 64.0], None, INCH_MEMORY),
    inch("R2-5", [1.0 / 8.0, 5.0 / 16.0, 7.0 / 64.0, 9.0 / 64.0], None, INCH_MEMORY),
    inch("R2", [1.0 / 8.0, 3.0 / 8.0, 5.0 / 32.0, 5.0 / 32.0], Some(rating(640.0, 225.0, 11.9)), INCH_MEMORY),
    inch("R3", [3.0 / 16.0, 1.0 / 2.0, 5.0 / 32.0, 0.196], Some(rating(1310.0, 490.0, 12.4)), INCH_MEMORY),
    inch("R4", [1.0 / 4.0, 5.0 / 8.0, 0.196, 0.196], Some(rating(1480.0, 620.0, 13.1)), INCH_SEEN),
    inch("R4A", [1.0 / 4.0, 3.0 / 4.0, 7.0 / 32.0, 9.0 / 32.0], Some(rating(2340.0, 885.0, 12.4)), INCH_MEMORY),
    inch("R6", [3.0 / 8.0, 7.0 / 8.0, 7.0 / 32.0, 9.0 / 32.0], Some(rating(3350.0, 1410.0, 13.1)), INCH_SEEN),
    inch("R8", [1.0 / 2.0, 9.0 / 8.0, 1.0 / 4.0, 5.0 / 16.0], Some(rating(5100.0, 2390.0, 13.2)), INCH_SEEN),
    inch("R10", [5.0 / 8.0, 11.0 / 8.0, 9.0 / 32.0, 11.0 / 32.0], Some(rating(6000.0, 3270.0, 14.3)), INCH_MEMORY),
    inch("R12", [3.0 / 4.0, 13.0 / 8.0, 5.0 / 16.0, 7.0 / 16.0], Some(rating(9400.0, 5000.0, 13.8)), INCH_MEMORY),
    inch("R14", [7.0 / 8.0, 15.0 / 8.0, 3.0 / 8.0, 1.0 / 2.0], Some(rating(10100.0, 5850.0, 14.5)), INCH_MEMORY),
    inch("R16", [1.0, 2.0, 3.0 / 8.0, 1.0 / 2.0], None, INCH_MEMORY),
    inch("R18", [9.0 / 8.0, 17.0 / 8.0, 3.0 / 8.0, 1.0 / 2.0], None, INCH_MEMORY),
    inch("R20", [5.0 / 4.0, 9.0 / 4.0, 3.0 / 8.0, 1.0 / 2.0], None, INCH_MEMORY),
    inch("R22", [11.0 / 8.0, 5.0 / 2.0, 7.0 / 16.0, 9.0 / 16.0], None, INCH_MEMORY),
    inch("R24", [3.0 / 2.0, 21.0 / 8.0, 7.0 / 16.0, 9.0 / 16.0], None, INCH_MEMORY),
];
