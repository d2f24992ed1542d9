/* Test aid, not shipped: a short life of a book by the library alone, over the C interface that Kotlin's side calls too.
   host LIBRARY FOLDER prints what must be the same on every processor. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct { uint64_t capacity, len; uint8_t *data; } buffer;
typedef struct { int8_t code; buffer error; } status;
static void *library;
static status said;
static void *name(const char *of) {
  void *found = dlsym(library, of);
  if (!found) { fprintf(stderr, "no %s\n", of); exit(1); }
  return found;
}

/* What is sent, as the bindings write it: numbers with the highest byte first, texts after their length. */
static uint8_t out[4096];
static uint32_t at;
static void number(uint64_t value, int bytes) { while (bytes--) out[at++] = value >> (8 * bytes); }
static void raw(const char *of) { memcpy(out + at, of, strlen(of)); at += strlen(of); }
static void text(const char *of) { number(strlen(of), 4); raw(of); }
static buffer sent(void) {
  struct { int32_t len; const uint8_t *data; } bytes = {(int32_t)at, out};
  buffer (*from)(typeof(bytes), status *) = name("ffi_chalkface_rustbuffer_from_bytes");
  buffer made = from(bytes, &said);
  at = 0;
  return made;
}
static buffer clock_of(int second) { number(1777881600000ULL + 1000 * second, 8); number(60, 2); number(16, 4); number(0, 8); number(second, 8); return sent(); }
static void well(const char *what) {
  if (said.code) { fprintf(stderr, "%s: fault %d, %.*s\n", what, said.code, (int)said.error.len, (char *)said.error.data); exit(1); }
}
static uint64_t device;
static uint64_t again(void) {
  uint64_t (*clone)(uint64_t, status *) = name("uniffi_chalkface_fn_clone_device");
  return clone(device, &said);
}
static void opened(const char *path) {
  uint64_t (*open)(buffer, buffer, buffer, status *) = name("uniffi_chalkface_fn_constructor_device_open");
  raw(path); buffer at_path = sent();
  number(0, 1); buffer no_state = sent();
  device = open(at_path, no_state, clock_of(1), &said);
  well("open");
}
static void does(int second) {
  void (*act)(uint64_t, buffer, buffer, buffer, status *) = name("uniffi_chalkface_fn_method_device_act");
  buffer event = sent();
  number(0, 1); buffer no_turn = sent();
  act(again(), event, no_turn, clock_of(second), &said);
  well("act");
}
static void prints(const char *of, const char *method) {
  buffer (*asks)(uint64_t, status *) = name(method);
  buffer found = asks(again(), &said);
  well(method);
  uint64_t print = 0xcbf29ce484222325ULL; /* FNV-1a */
  for (uint64_t n = 0; n < found.len; n++) print = (print ^ found.data[n]) * 0x100000001b3ULL;
  printf("%s: %llu bytes, %016llx\n", of, (unsigned long long)found.len, (unsigned long long)print);
}
static void ends(void) {
  void (*end)(uint64_t, status *) = name("uniffi_chalkface_fn_method_device_end");
  end(again(), &said);
  well("end");
}

int main(int count, char **words) {
  if (count != 3 || !(library = dlopen(words[1], RTLD_NOW | RTLD_DEEPBIND))) { fprintf(stderr, "%s\n", count == 3 ? dlerror() : "host LIBRARY FOLDER"); return 1; }
  char path[1024];
  snprintf(path, sizeof path, "%s/book", words[2]);
  opened(path);
  number(5, 4); text("name"); text("Mina Aalto"); number(1, 8); does(2);
  number(2, 4); text("begin"); does(3);
  number(10, 4); text("ball"); does(4);
  number(7, 4); text("ball.face"); double x = 58, y = 30; uint64_t bits;
  memcpy(&bits, &x, 8); number(bits, 8); memcpy(&bits, &y, 8); number(bits, 8); does(5);
  number(2, 4); text("ball.save"); does(6);
  prints("screen", "uniffi_chalkface_fn_method_device_screen");
  prints("digests", "uniffi_chalkface_fn_method_device_digests");
  ends();
  opened(path);
  prints("digests, opened again", "uniffi_chalkface_fn_method_device_digests");
  ends();
  /* What was ended answers with a fault, not with an end of the process. */
  buffer (*asks)(uint64_t, status *) = name("uniffi_chalkface_fn_method_device_digests");
  asks(again(), &said);
  printf("after the end: fault %d\n", said.code);
  return said.code != 1;
}
