// The program's door: picks the verb.
int main() { return 2; }
