// Writes a short recording for the window's session on a real screen: three struck tones.
#include "tones.h"

int main(int count, char** words) {
    return count == 2 && bentline::window::write_tones(words[1]) ? 0 : 2;
}
