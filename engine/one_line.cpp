// Control characters out of a sentence.
#include "engine/one_line.h"

namespace bentline {

std::string one_line(std::string_view sentence) {
    std::string line(sentence);
    for (char& c : line) {
        const auto code = static_cast<unsigned char>(c);
        if (code < 0x20 || code == 0x7F) c = '?';
    }
    return line;
}

}  // namespace bentline
