using System.Collections.Immutable;
using System.Globalization;
using System.Text.RegularExpressions;

namespace Throughline.Toolchains;

/// <summary>
/// A processor that a program of the machine simulates, instruction by instruction. The code under test runs on it beside a few lines of C that know the processor: how a character comes
/// out, what the cycle counter says, how the run ends.
/// </summary>
/// <param name="Simulator">Its name on the PATH.</param>
/// <param name="Prelude">C: <c>put</c>, <c>begin</c>, <c>now</c> (cycles, 16 bits), <c>has_wrapped</c> (the counter went round since the last call), <c>finish</c>, and <c>STORED</c> with <c>take</c> for tables in flash.</param>
internal sealed partial record SimulatedProcessor(string Simulator, string Prelude, string ProgramName, ImmutableArray<string> Words, string Commands)
{
    /// <summary>C that is the same on all of them, after the prelude: <c>hex</c> puts a blank and eight digits, <c>say</c> a text.</summary>
    public const string Telling =
        """
        static void hex(uint32_t number)
        {
            uint8_t i;
            put(' ');
            for (i = 0; i < 8; i++)
            {
                const uint8_t digit = (uint8_t)(number >> 28);
                put((char)(digit < 10 ? '0' + digit : 'a' + digit - 10));
                number <<= 4;
            }
        }

        static void say(const char *words)
        {
            while (*words)
            {
                put(*words++);
            }
        }
        """;

    /// <summary>ATmega328P: results through the serial port, cycles by the 16-bit timer 1 at the processor's clock; ends by sleeping with interrupts off.</summary>
    /// <remarks>Register names and bits as in the processor's data sheet: common practice, no source.</remarks>
    public static readonly SimulatedProcessor Atmega = new(
        "simavr",
        """
        #include <avr/interrupt.h>
        #include <avr/io.h>
        #include <avr/pgmspace.h>
        #include <avr/sleep.h>

        #define STORED PROGMEM
        #define take(to, from, bytes) memcpy_P((to), (from), (bytes))

        static void begin(void)
        {
            UCSR0A = (uint8_t)(1U << U2X0);
            UCSR0B = (uint8_t)(1U << TXEN0);
            UBRR0 = 0;
            TCCR1A = 0;
            TCCR1B = 1;
        }

        static void put(char c)
        {
            while ((UCSR0A & (1U << UDRE0)) == 0U)
            {
            }
            UDR0 = (uint8_t)c;
        }

        static uint16_t now(void)
        {
            return TCNT1;
        }

        static uint8_t has_wrapped(void)
        {
            const uint8_t wrapped = (uint8_t)(TIFR1 & 1U);
            TIFR1 = 1;
            return wrapped;
        }

        static void finish(void)
        {
            cli();
            sleep_enable();
            sleep_cpu();
        }

        """,
        "run.elf", ["-m", "atmega328p", "-f", "16000000", "run.elf"], "");

    /// <summary>STM8: results through the simulator's own port, cycles by the 16-bit timer 1 at the processor's clock.</summary>
    /// <remarks>
    /// Of the processors that the compiler and its simulators share, this one: its calls keep everything on the stack, so that the code needs no restriction, and its 64-bit arithmetic is whole;
    /// the 8051 gives every function fixed places for its variables and has few of the 64-bit routines. The simulator's port, a place that no chip uses: its manual, "simulator interface".
    /// </remarks>
    public static readonly SimulatedProcessor Stm8 = new(
        "sstm8",
        """
        #include <string.h>

        #define STORED
        #define take(to, from, bytes) memcpy((to), (from), (bytes))
        #define AT(address) (*(volatile uint8_t *)(address))

        static void begin(void)
        {
            AT(0x5250) = 1U;
        }

        static void put(char c)
        {
            AT(0x5fff) = (uint8_t)'p';
            AT(0x5fff) = (uint8_t)c;
        }

        static uint16_t now(void)
        {
            const uint8_t high = AT(0x525e);
            return (uint16_t)(((uint16_t)high << 8) | AT(0x525f));
        }

        static uint8_t has_wrapped(void)
        {
            const uint8_t wrapped = (uint8_t)(AT(0x5255) & 1U);
            AT(0x5255) = 0U;
            return wrapped;
        }

        static void finish(void)
        {
            AT(0x5fff) = (uint8_t)'s';
        }

        """,
        "run.ihx", ["-b", "-I", "if=rom[0x5fff]", "run.ihx"], "run\nquit\n");

    public bool IsPresent => Tool.Find(Simulator) is not null;

    /// <summary>Runs the linked program of a folder and gives the lines that it wrote, each of hexadecimal numbers.</summary>
    /// <exception cref="InvalidOperationException">It did not come to its end; the message holds what the simulator said.</exception>
    public IReadOnlyList<uint[]> Run(string folder)
    {
        (_, string said) = Tool.Run(folder, Simulator, Words, Commands);
        List<uint[]> lines = [];
        bool hasEnded = false;
        foreach (Match match in Line().Matches(said))
        {
            string[] words = match.Value.Split(' ', StringSplitOptions.RemoveEmptyEntries);
            hasEnded |= words[0] == "end";
            if (words[0] == "=")
            {
                lines.Add([.. words.Skip(1).Select(w => uint.Parse(w, NumberStyles.HexNumber, CultureInfo.InvariantCulture))]);
            }
        }

        return hasEnded ? lines : throw new InvalidOperationException($"The program did not come to its end under {Simulator}.\n{said}");
    }

    [GeneratedRegex("=( [0-9a-f]{8})+|end of run")]
    private static partial Regex Line();
}
