/* What Android's own toolchain links into every library, and no library of the system offers on 64-bit processors:
   the handle by which exits and forks know whose they are (its crtbegin_so has the same two). */
void *__dso_handle __attribute__((visibility("hidden"))) = &__dso_handle;
/* In libc.so since API 23. */
int __register_atfork(void (*)(void), void (*)(void), void (*)(void), void *);
__attribute__((visibility("hidden"))) int pthread_atfork(void (*prepare)(void), void (*parent)(void), void (*child)(void)) {
  return __register_atfork(prepare, parent, child, &__dso_handle);
}
