/* stage: what is before a virtual microphone, behind a virtual speaker and on a virtual MIDI cable, as one JACK client, so that all three count the same frames.
 *   stage SUNG NOTES HEARD SECONDS [LEAK]
 * SUNG   raw float32 samples in the machine's byte order, sung into the program's first microphone channel from frame 0 on
 * NOTES  lines of "FRAME HEX HEX HEX": MIDI messages, each sent at that frame, in order; an empty file for no keyboard
 * HEARD  is written: what the program's first speaker channel gave, from frame 0 on, as SUNG
 * LEAK   is how much of what the speaker gives comes back into the microphone, as a factor of its samples; 0 without it
 * It waits until the program has PortAudio ports open, and reads from the port stage:keys if there are notes; a fifth of a second later frame 0 comes, and it ends after
 * SECONDS.
 * It prints "ready" at the start, and at the end "xruns N".
 * Build: cc -O2 -o stage stage.c -ljack */
#include <jack/jack.h>
#include <jack/midiport.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { most_notes = 10000 };
struct note { long frame; unsigned char bytes[3]; int size; };

static struct note notes[most_notes];
static long note_count, next_note, sung_count, length, frame;
static float *sung, *heard, leak;
static jack_client_t *client;
static jack_port_t *mouth, *ear, *keys;
static volatile sig_atomic_t going, ended, xruns;

static int process(jack_nframes_t frames, void *unused) {
    (void)unused;
    float *out = jack_port_get_buffer(mouth, frames), *in = jack_port_get_buffer(ear, frames);
    void *midi = jack_port_get_buffer(keys, frames);
    jack_midi_clear_buffer(midi);
    for (jack_nframes_t i = 0; i < frames; i++) out[i] = leak * in[i];
    if (!going) return 0;
    for (jack_nframes_t i = 0; i < frames && frame < length; i++, frame++) {
        if (frame < sung_count) out[i] += sung[frame];
        heard[frame] = in[i];
        for (; next_note < note_count && notes[next_note].frame <= frame; next_note++)
            jack_midi_event_write(midi, i, notes[next_note].bytes, notes[next_note].size);
    }
    return 0;
}

static void server_gone(void *unused) { (void)unused; ended = 1; }
static void told_to_end(int signal) { (void)signal; ended = 1; }
static int slipped(void *unused) { (void)unused; xruns += going; return 0; }

static void fail(const char *what) {
    fprintf(stderr, "stage: %s\n", what);
    exit(1);
}

static void read_sung(const char *path) {
    FILE *f = fopen(path, "rb");
    if (!f) fail("SUNG cannot be read");
    fseek(f, 0, SEEK_END);
    sung_count = ftell(f) / sizeof *sung;
    rewind(f);
    sung = malloc((sung_count + 1) * sizeof *sung);
    if (!sung || fread(sung, sizeof *sung, sung_count, f) != (size_t)sung_count) fail("SUNG cannot be read");
    fclose(f);
}

static void read_notes(const char *path) {
    FILE *f = fopen(path, "r");
    char line[100];
    if (!f) fail("NOTES cannot be read");
    while (fgets(line, sizeof line, f)) {
        unsigned b[3];
        struct note *n = &notes[note_count];
        int found = sscanf(line, "%ld %x %x %x", &n->frame, &b[0], &b[1], &b[2]);
        if (found < 2 || ++note_count == most_notes) fail("NOTES has a line that is no message, or too many");
        n->size = found - 1;
        for (int i = 0; i < n->size; i++) n->bytes[i] = b[i];
    }
    fclose(f);
}

/* join connects a port with the first port of PortAudio that fits. */
static void join(jack_port_t *port, const char *pattern, unsigned long side) {
    if (jack_port_connected(port)) return;
    const char **found = jack_get_ports(client, pattern, JACK_DEFAULT_AUDIO_TYPE, side);
    if (!found) return;
    if (side == JackPortIsInput) jack_connect(client, jack_port_name(port), found[0]);
    else jack_connect(client, found[0], jack_port_name(port));
    jack_free(found);
}

int main(int argc, char **argv) {
    if (argc != 5 && argc != 6) fail("usage: stage SUNG NOTES HEARD SECONDS [LEAK]");
    client = jack_client_open("stage", JackNoStartServer, NULL);
    if (!client) fail("no JACK server");
    leak = argc == 6 ? atof(argv[5]) : 0;
    read_sung(argv[1]);
    read_notes(argv[2]);
    length = atof(argv[4]) * jack_get_sample_rate(client);
    heard = calloc(length + 1, sizeof *heard);
    mouth = jack_port_register(client, "mouth", JACK_DEFAULT_AUDIO_TYPE, JackPortIsOutput, 0);
    ear = jack_port_register(client, "ear", JACK_DEFAULT_AUDIO_TYPE, JackPortIsInput, 0);
    keys = jack_port_register(client, "keys", JACK_DEFAULT_MIDI_TYPE, JackPortIsOutput | JackPortIsPhysical | JackPortIsTerminal, 0);
    if (!heard || !mouth || !ear || !keys) fail("no room, or no ports");
    signal(SIGTERM, told_to_end);
    signal(SIGINT, told_to_end);
    jack_on_shutdown(client, server_gone, NULL);
    jack_set_xrun_callback(client, slipped, NULL);
    jack_set_process_callback(client, process, NULL);
    if (jack_activate(client)) fail("JACK does not run it");
    printf("ready\n");
    fflush(stdout);
    for (int calm = 0; !ended && calm < 100; usleep(2000)) {
        join(mouth, "^PortAudio:in_", JackPortIsInput);
        join(ear, "^PortAudio:out_", JackPortIsOutput);
        if ((jack_port_connected(mouth) || jack_port_connected(ear)) && (!note_count || jack_port_connected(keys))) calm++;
    }
    going = 1;
    while (!ended && frame < length) usleep(5000);
    FILE *f = fopen(argv[3], "wb");
    size_t frames = frame; /* more may come meanwhile where it was told to end */
    if (!f || fwrite(heard, sizeof *heard, frames, f) != frames || fclose(f)) fail("HEARD cannot be written");
    printf("xruns %d\n", (int)xruns);
    if (!ended) jack_client_close(client);
    return 0;
}
