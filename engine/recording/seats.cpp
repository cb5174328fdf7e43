// Tables of the FLAC and Vorbis specifications.
#include "engine/recording/seats.h"

namespace bentline {

// Side and rear channels are surrounds alike: BS.775 knows one pair of them.
std::vector<Seat> flac_seats(std::size_t channels) {
    using enum Seat;
    switch (channels) {
        case 1:
            return {centre};
        case 2:
            return {left, right};
        case 3:
            return {left, right, centre};
        case 4:
            return {left, right, left_surround, right_surround};
        case 5:
            return {left, right, centre, left_surround, right_surround};
        case 6:
            return {left, right, centre, low, left_surround, right_surround};
        case 7:
            return {left, right, centre, low, centre_surround, left_surround, right_surround};
        case 8:
            return {left,          right,          centre,        low,
                    left_surround, right_surround, left_surround, right_surround};
        default:
            return std::vector<Seat>(channels, unknown);
    }
}

std::vector<Seat> vorbis_seats(std::size_t channels) {
    using enum Seat;
    switch (channels) {
        case 1:
            return {centre};
        case 2:
            return {left, right};
        case 3:
            return {left, centre, right};
        case 4:
            return {left, right, left_surround, right_surround};
        case 5:
            return {left, centre, right, left_surround, right_surround};
        case 6:
            return {left, centre, right, left_surround, right_surround, low};
        case 7:
            return {left, centre, right, left_surround, right_surround, centre_surround, low};
        case 8:
            return {left,           centre,        right,          left_surround,
                    right_surround, left_surround, right_surround, low};
        default:
            return std::vector<Seat>(channels, unknown);
    }
}

}  // namespace bentline
