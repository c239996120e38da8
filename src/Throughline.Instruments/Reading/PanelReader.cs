using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Reads display and keys.</summary>
internal static class PanelReader
{
    private const string NoKey = "none";

    private static readonly TextShape ScreenName = new("a screen");

    private static readonly ImmutableArray<(string Word, PanelSource Source)> AllSources = [.. PanelWords.Sources, .. PanelWords.VoltageSources];

    private static readonly WordShape SourceWord = new([.. AllSources.Select(s => s.Word)]);

    private static readonly WordShape StandardWord = new([.. AllSources.Where(s => PanelWords.StandardOf(s.Source) is not null).Select(s => s.Word)]);

    private static readonly WordShape EnteredWord = new([.. AllSources.Where(s => PanelWords.IsEntered(s.Source)).Select(s => s.Word)]);

    // How the currents of a trim are entered follows from the trim.
    private static readonly WordShape EntryWord = new([.. AllSources.Where(s => PanelWords.IsEntered(s.Source) && PanelWords.TrimOf(s.Source) is null).Select(s => s.Word)]);

    private static readonly ListShape Lines = new(new TextShape("a line of text") { AllowEmpty = true });

    private static readonly ListShape Shown = new(SourceWord);

    private static readonly TextShape Action = new("a screen, `up`, `down`, `take`, `restore` or `next language`");

    private static readonly EitherShape KeysOfScreen = new(
        new DictionaryShape("labels and what their keys do, such as { MENU: menu }", new TextShape("a label"), Action),
        new ListShape(new EitherShape(
            new DictionaryShape("a label and what its key does, such as MENU: menu", new TextShape("a label"), Action, 1, 1),
            new WordShape(NoKey))));

    public static readonly MapShape Translation = new(
        "screen in another language",
        "The texts of a screen in another language.",
        Key.Required("lines", Lines, "Its lines."),
        Key.Optional("labels", new ListShape(new TextShape("a label")), "Labels of its keys in the order of the screen's.", "the same labels"),
        Key.Optional("shows", Shown, "What the groups of # show where their order is another.", "as in the screen"));

    public static readonly MapShape Screen = new(
        "screen",
        "What a screen shows and does. In the last row of the display stand the labels of its keys, each above its own.",
        Key.Required("lines", Lines, "Its lines from the top; # stands for a digit, as in ##.##."),
        Key.Optional("shows", Shown, "What each group of # shows, in the order of reading."),
        Key.Optional(
            "keys",
            KeysOfScreen,
            $"What the keys do: by label, where the label's place says which key it is, or as a list from the left with `{NoKey}` for a key without effect. `take` takes the reading "
            + "of the standard once it is steady, or what is entered for a current of the trim, `up` and `down` change what the screen enters, `restore` puts factory settings back; anything else is the screen to go to."),
        Key.Optional("after", new DictionaryShape("a time and a screen such as { 60 s: measuring }", Shapes.Time, ScreenName, 1, 1), "Where it goes by itself when no key is pressed."),
        Key.Optional(
            "on",
            new MapShape(
                "events of a screen",
                "What happens without a key.",
                Key.Optional("steady", Action, "When the reading has become steady: `take`, or a screen."),
                Key.Optional("taken", ScreenName, "After a reading was taken and more are to come.", "the screen stays"),
                Key.Optional("accepted", ScreenName, "After the calibration or the trim was accepted.", "the measuring screen"),
                Key.Optional("refused", ScreenName, "After the calibration or the trim was refused.", "the measuring screen")),
            "What happens without a key."),
        Key.Optional("calibrates", StandardWord, "The standard in which the user calibrates here. Coming to such a screen from any other begins a calibration; going to any other abandons it."),
        Key.Optional(
            "enters",
            EnteredWord,
            "What `up` and `down` change here. Where it is a current of the output's trim, the loop gives that current untrimmed, and `take` takes what the meter shows; with both the trim is judged. "
                + "Coming to such a screen from any other begins a trim; going to any other abandons it."),
        Key.Optional(
            "loop",
            new WordShape([.. PanelWords.Loops.Where(l => l.Loop != PanelLoop.Trim).Select(l => l.Word)]),
            "What the loop does meanwhile: `follows` the measurand, is `held`, or gives the `test` current. A screen of the output's trim gives its current whatever is said here.",
            "`held` where the user calibrates, else `follows`"),
        Key.Optional(
            "output",
            new WordShape([.. PanelWords.Loops.Where(l => l.Loop != PanelLoop.Trim).Select(l => l.Word)]),
            "The same of a `voltage output`, which has no loop: `test` gives the test voltage.",
            "as above"),
        Key.Optional("in", new DictionaryShape("languages such as { German: … }", new TextShape("a language"), Translation), "The same in other languages."))
    {
        Example = "first buffer: { lines: [\"Into pH ##.##\", \"STOP  -   +  SET\"], shows: [first standard], calibrates: first standard, enters: first standard, "
            + "keys: { STOP: measuring, \"-\": down, \"+\": up, SET: take }, on: { taken: second buffer }, after: { 10 min: measuring } }",
    };

    public static readonly MapShape Entry = new(
        "entry",
        "How a value is entered.",
        Key.Required("range", Shapes.Quantity(UnitSets.Measurand, f => f.WithSign().OrBare().AsRange("6.50 .. 7.50 pH")), "From the least to the greatest."),
        Key.Required("step", Shapes.Quantity(UnitSets.Measurand, f => f.OrBare().Positive()), "One press of a key."));

    public static readonly MapShape Shape = new(
        "panel",
        "Display and keys.",
        Key.Required("display", new PatternShape("columns and rows such as 20 x 4", "[1-9][0-9]{0,2} *[x×] *[1-9][0-9]{0,2}", t => TrySize(t, out _, out _)), "Columns and rows of characters."),
        Key.Required("keys", new IntegerShape(0, 64), "Number of keys, spread evenly below the display."),
        Key.Optional(
            "characters",
            new WordShape([.. PanelWords.CharacterSets.Select(s => s.Word)]),
            "What the display can show: `ascii`, `japanese` (° µ ä ö ü ß ñ Ω and a few signs beside ASCII, without \\ and ~) or `european` (the letters of ISO/IEC 8859-1, ° µ ±).",
            "japanese"),
        Key.Optional("measuring", ScreenName, "The screen with the reading, with which the panel begins.", "the first screen"),
        Key.Optional(
            "failures",
            new DictionaryShape("failures and their screens such as { sensor broken: no electrode }", new WordShape([.. PanelWords.Failures.Select(f => f.Word)]), ScreenName),
            "Screens that stand in for the measuring one while something has failed, the gravest first."),
        Key.Optional(
            "entries",
            new DictionaryShape("values that are entered, such as { first standard: { range: 6.50 .. 7.50 pH, step: 0.01 pH } }", EntryWord, Entry),
            "How values are entered.",
            "a tenth of the measuring range about a standard in steps of the display, the loop's test currents in steps of 0.5 mA, the test voltages of a voltage output in steps of 0.1 V"),
        Key.Optional(
            "screens",
            new DictionaryShape("screens by name", new TextShape("a screen's name"), new EitherShape(Lines, Screen)),
            "Screens by name, each a map of what it shows and does, or a bare list of lines."))
    {
        Example = "panel: { display: 20 x 4, keys: 4, screens: { measuring: { lines: [\"pH ##.##\", \"\", \"\", \"MENU\"], shows: [measurand], keys: { MENU: menu } }, menu: { lines: [\"Calibrate?\", \"\", \"\", \"NO\"], "
            + "keys: { \"NO\": measuring }, after: { 60 s: measuring } } } }",
    };

    public static PanelSection? Read(MapView map)
    {
        if (map.Text("display") is not { } display || !TrySize(display.Value, out int columns, out int rows) || map.Integer("keys") is not { } keys)
        {
            return null;
        }

        MapNode? screenMap = map.Raw("screens") as MapNode;
        HashSet<string> names = [.. screenMap?.Entries.Select(e => e.Key.Text) ?? []];
        ImmutableArray<PanelScreen>.Builder screens = ImmutableArray.CreateBuilder<PanelScreen>();
        foreach (MapEntry entry in screenMap?.Entries ?? [])
        {
            Located<string> name = new(entry.Key.Text, entry.Key.Span);
            if (PanelWords.Actions.Any(a => a.Word == name.Value) || name.Value == NoKey)
            {
                map.Report(Codes.Contradiction, name.Span, $"A screen can't be called `{name.Value}`: a key does that.", "another name", entry.Key.Found);
            }

            if (entry.Value is ListNode lines)
            {
                screens.Add(new PanelScreen { Name = name, Lines = Texts(lines), Span = name.Span });
            }
            else if (entry.Value is MapNode screen)
            {
                screens.Add(ReadScreen(new MapView(screen, Screen, map.Context), name, names, keys));
            }
        }

        Located<string>? measuring = Target(map, map.Raw("measuring"), names);
        return new PanelSection
        {
            Columns = columns,
            Rows = rows,
            Keys = keys,
            Characters = map.Word("characters") is { } set ? PanelWords.CharacterSets.First(s => s.Word == set.Value).Set : CharacterSet.Japanese,
            Measuring = measuring ?? (screens.Count > 0 ? screens[0].Name : null),
            Failures = [.. ReadFailures(map, names)],
            Entries = [.. ReadEntries(map)],
            Screens = screens.ToImmutable(),
            Span = map.Span,
        };
    }

    private static PanelScreen ReadScreen(MapView map, Located<string> name, HashSet<string> names, int keys)
    {
        MapView? on = map.Inner("on");
        ImmutableArray<Located<string>> lines = Texts(map.Raw("lines"));
        ImmutableArray<Located<PanelSource>> shows = Sources(map, "shows");
        CheckFields(map, "shows", lines, shows);
        Located<int>? calibrates = map.Word("calibrates") is { } standard ? new(PanelWords.StandardOf(SourceOf(map, standard).Value)!.Value, standard.Span) : null;
        Located<PanelSource>? enters = map.Word("enters") is { } entered ? SourceOf(map, entered) : null;
        bool trims = enters is { } source && PanelWords.TrimOf(source.Value) is not null;
        if (trims && calibrates is { } both)
        {
            map.Report(
                Codes.Contradiction, both.Span, "A screen is a step of the calibration or of the output's trim, not of both.", "a screen for each", $"`calibrates` and `enters: {PanelWords.WordOf(enters!.Value.Value)}`");
        }

        ImmutableArray<PanelKey> screenKeys = [.. ReadKeys(map, names, keys)];
        return new PanelScreen
        {
            Name = name,
            Lines = lines,
            IsDescribed = true,
            Shows = shows,
            Keys = screenKeys,
            After = ReadTimeout(map, names),
            OnSteady = on?.Raw("steady") is ScalarNode steady ? ReadAction(map, steady, names) : null,
            OnTaken = on is null ? null : Target(map, on.Raw("taken"), names),
            OnAccepted = on is null ? null : Target(map, on.Raw("accepted"), names),
            OnRefused = on is null ? null : Target(map, on.Raw("refused"), names),
            Calibrates = calibrates,
            Enters = enters,
            Loop = trims ? PanelLoop.Trim : OutputWord(map) is { } loop ? PanelWords.Loops.First(l => l.Word == loop.Value).Loop : calibrates is null ? PanelLoop.Follows : PanelLoop.Held,
            Translations = [.. ReadTranslations(map, lines, shows, screenKeys.Length)],
            Span = name.Span,
        };
    }

    private static IEnumerable<PanelKey> ReadKeys(MapView map, HashSet<string> names, int keys)
    {
        if (map.Raw("keys") is MapNode byLabel)
        {
            foreach (MapEntry entry in byLabel.Entries)
            {
                if (entry.Value is ScalarNode value && ReadAction(map, value, names) is { } action)
                {
                    yield return new PanelKey(null, new Located<string>(entry.Key.Text, entry.Key.Span), action);
                }
            }
        }
        else if (map.Raw("keys") is ListNode inOrder)
        {
            for (int i = 0; i < inOrder.Items.Length; i++)
            {
                if (i >= keys)
                {
                    map.Report(
                        Codes.Contradiction, inOrder.Items[i].Span, "The screen has more keys than the panel.", $"{QuantityText.Integer(keys)} keys at most",
                        $"{QuantityText.Integer(inOrder.Items.Length)} keys");
                    yield break;
                }

                if (inOrder.Items[i] is MapNode { Entries: [var entry, ..] } && entry.Value is ScalarNode value && ReadAction(map, value, names) is { } action)
                {
                    yield return new PanelKey(i, new Located<string>(entry.Key.Text, entry.Key.Span), action);
                }
            }
        }
    }

    private static IEnumerable<PanelTranslation> ReadTranslations(MapView map, ImmutableArray<Located<string>> lines, ImmutableArray<Located<PanelSource>> shows, int keys)
    {
        foreach (MapEntry entry in map.Raw("in") is MapNode languages ? languages.Entries : [])
        {
            if (entry.Value is not MapNode node)
            {
                continue;
            }

            MapView view = new(node, Translation, map.Context);
            ImmutableArray<Located<string>> texts = Texts(view.Raw("lines"));
            ImmutableArray<Located<PanelSource>> own = Sources(view, "shows");
            ImmutableArray<Located<string>> labels = Texts(view.Raw("labels"));
            CheckFields(view, "lines", texts, own.IsEmpty ? shows : own);
            if (!labels.IsEmpty && labels.Length != keys)
            {
                view.Report(
                    Codes.Contradiction, view.PlaceOf("labels"), "The translation has another number of labels than the screen has keys.",
                    $"{QuantityText.Integer(keys)} labels", $"{QuantityText.Integer(labels.Length)} labels");
            }

            if (texts.Length != lines.Length)
            {
                view.Report(
                    Codes.Contradiction, view.PlaceOf("lines"), "The translation has another number of lines than the screen.",
                    $"{QuantityText.Integer(lines.Length)} lines", $"{QuantityText.Integer(texts.Length)} lines");
            }

            yield return new PanelTranslation(new Located<string>(entry.Key.Text, entry.Key.Span), texts, labels, own, entry.Key.Span);
        }
    }

    private static IEnumerable<PanelFailure> ReadFailures(MapView map, HashSet<string> names)
    {
        foreach (MapEntry entry in map.Raw("failures") is MapNode node ? node.Entries : [])
        {
            if (PanelWords.Failures.Any(f => f.Word == entry.Key.Text) && Target(map, entry.Value, names) is { } screen)
            {
                yield return new PanelFailure(PanelWords.Failures.First(f => f.Word == entry.Key.Text).Kind, screen);
            }
        }
    }

    private static IEnumerable<PanelEntry> ReadEntries(MapView map)
    {
        foreach (MapEntry entry in map.Raw("entries") is MapNode node ? node.Entries : [])
        {
            if (entry.Value is not MapNode inner || EntryWord.Word(entry.Key) is not { } word)
            {
                continue;
            }

            MapView view = new(inner, Entry, map.Context);
            Located<PanelSource> source = SourceOf(map, new Located<string>(word, entry.Key.Span));
            bool isTest = source.Value == PanelSource.TestCurrent;
            QuantityRange? range = isTest ? TestRange(view) : view.MeasurandRange("range");
            if (range is not null && (isTest ? TestValue(view, "step") : view.Measurand("step")) is { Value: > 0 } step)
            {
                yield return new PanelEntry(source, range, step);
            }
        }
    }

    private static QuantityRange? TestRange(MapView view) => TestValue(view, "range") is { } q ? new QuantityRange(q.Dimension, q.Low, q.High, q.Span, q.Text) : null;

    private static Quantity? TestValue(MapView view, string key)
    {
        if (view.Parsed(key) is not var (parsed, node))
        {
            return null;
        }

        OutputSignal signal = view.Context.Output ?? OutputSignal.Current;
        if (parsed.IsBare || parsed.Dimension != signal.Dimension)
        {
            view.Report(Codes.WrongKind, node.Span, $"The output test sets a {signal.Noun}.", signal.IsVoltage ? "a voltage such as 0.1 V" : "a current such as 0.5 mA", node.Found);
            return null;
        }

        return parsed.ToQuantity(node.Span, node.Text);
    }

    private static PanelTimeout? ReadTimeout(MapView map, HashSet<string> names) =>
        map.Raw("after") is MapNode { Entries: [var entry, ..] } && entry.Key.ReadAs(Shapes.Time.Form) is { Problem: null } time && Target(map, entry.Value, names) is { } screen
            ? new PanelTimeout(time.ToQuantity(entry.Key.Span, entry.Key.Text), screen)
            : null;

    private static PanelAction? ReadAction(MapView map, ScalarNode node, HashSet<string> names)
    {
        foreach ((string word, PanelActionKind kind) in PanelWords.Actions)
        {
            if (node.Text == word)
            {
                return new PanelAction(kind, new Located<string>(node.Text, node.Span));
            }
        }

        return Target(map, node, names, PanelWords.Actions.Select(a => a.Word)) is { } screen ? new PanelAction(PanelActionKind.Go, screen) : null;
    }

    private static Located<string>? Target(MapView map, YamlNode? node, HashSet<string> names, IEnumerable<string>? words = null)
    {
        if (node is not ScalarNode { Type: not ScalarType.Null } scalar)
        {
            return null;
        }

        if (!names.Contains(scalar.Text))
        {
            map.Report(
                Codes.UnknownScreen, scalar.Span, $"There is no screen `{ScalarNode.Short(scalar.Text)}`.", Nearest.OneOf(names), scalar.Found, Nearest.Mend(scalar.Text, names.Concat(words ?? [])));
            return null;
        }

        return new Located<string>(scalar.Text, scalar.Span);
    }

    private static void CheckFields(MapView map, string key, ImmutableArray<Located<string>> lines, ImmutableArray<Located<PanelSource>> shows)
    {
        int fields = lines.Sum(l => PanelField.CountIn(l.Value));
        if (fields != shows.Length)
        {
            map.Report(
                Codes.Contradiction, map.PlaceOf(key), $"The lines have {QuantityText.Integer(fields)} groups of # and what they show are {QuantityText.Integer(shows.Length)} values.",
                $"`shows` with {QuantityText.Integer(fields)} values, in the order of reading", $"{QuantityText.Integer(shows.Length)} values");
        }
    }

    private static ImmutableArray<Located<string>> Texts(YamlNode? node) =>
        node is ListNode list ? [.. list.Items.OfType<ScalarNode>().Select(l => new Located<string>(l.Text, l.Span))] : [];

    private static ImmutableArray<Located<PanelSource>> Sources(MapView map, string key) =>
        map.Raw(key) is ListNode list
            ? [.. list.Items.OfType<ScalarNode>().Where(s => SourceWord.Word(s) is not null).Select(s => SourceOf(map, new Located<string>(s.Text, s.Span)))]
            : [];

    /// <summary>What a word names. One that names it for the other kind of output is reported, and taken for what it means.</summary>
    private static Located<PanelSource> SourceOf(MapView map, Located<string> word)
    {
        PanelSource source = AllSources.First(s => s.Word == word.Value).Source;
        if (map.Context.Output is { } signal && PanelWords.WordOf(source, signal) is var right && right != word.Value)
        {
            map.Report(Codes.WrongKind, word.Span, $"The output of the instrument is a {signal.Noun}.", $"`{right}`", $"`{word.Value}`", $"write `{right}`");
        }

        return new Located<PanelSource>(source, word.Span);
    }

    /// <summary>What the output does meanwhile, by the key of its kind.</summary>
    private static Located<string>? OutputWord(MapView map)
    {
        foreach (OutputSignal other in new[] { OutputSignal.Current, OutputSignal.Voltage }.Where(s => map.Context.Output is { } signal && s != signal && map.Has(s.Place)))
        {
            string right = map.Context.Output!.Place;
            map.Report(Codes.WrongKind, map.PlaceOf(other.Place), $"The output of the instrument is a {map.Context.Output.Noun}.", $"`{right}`", $"`{other.Place}`", $"write `{right}`");
        }

        return map.Word(OutputSignal.Current.Place) ?? map.Word(OutputSignal.Voltage.Place);
    }

    private static bool TrySize(ReadOnlySpan<char> text, out int columns, out int rows)
    {
        columns = rows = 0;
        int cross = text.IndexOfAny('x', '×');
        return cross > 0 && TryCount(text[..cross].TrimEnd(' '), out columns) && TryCount(text[(cross + 1)..].TrimStart(' '), out rows);
    }

    private static bool TryCount(ReadOnlySpan<char> digits, out int count)
    {
        count = 0;
        if (digits.Length is 0 or > 3 || digits[0] == '0')
        {
            return false;
        }

        foreach (char c in digits)
        {
            if (!char.IsAsciiDigit(c))
            {
                return false;
            }

            count = (count * 10) + (c - '0');
        }

        return true;
    }
}
