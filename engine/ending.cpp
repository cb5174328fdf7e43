// Endings in small letters, whatever the locale.
#include "engine/ending.h"

namespace bentline {

std::string small_ending(const std::filesystem::path& file) {
    std::string ending = file.extension().string();
    for (char& c : ending) {
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    }
    return ending;
}

}  // namespace bentline
