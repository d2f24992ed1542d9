// Replays stories on a plain JVM, with whatever library it is given: apk/stories gives it the one
// that was built for Android.
package chalkface.app

object OnHost {
    @JvmStatic
    fun main(names: Array<String>) {
        for (name in names.toList().ifEmpty { stories() }) {
            ReplayTest.play(name, killed = true)
            println("$name: screens, states and digests are Rust's")
        }
    }
}
